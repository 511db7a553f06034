"""The running difference to the run that is laid behind: said once it means something, and before that why it is not."""

from dataclasses import replace
from datetime import timedelta
from math import exp, log, sqrt
from pathlib import Path

import pytest

from benchmon.analysis.compare.running import Begin, Moment, running_difference
from benchmon.analysis.live import LiveAnalysis
from benchmon.model import keys
from benchmon.model.records import Machine, Mark, MarkKind, Sample
from benchmon.model.running import NotSaid, Silence
from benchmon.session.reader import read_session
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.than_before import than_before
from benchmon.views.words.running import when_words

RECORDINGS = Path(__file__).resolve().parents[3] / "recordings"


def analyst():
    return LiveAnalysis(look_every_s=float("inf"))


def session(name):
    return read_session(RECORDINGS / f"{name}.session.jsonl")


@pytest.fixture(scope="module")
def bought():
    return Behind(session("box-as-bought"), analyst)


def told_at(*times, change=lambda records: records, behind):
    """What the screen says of the box with its duct, ten days later, at some times."""
    state, told = ViewState(analyst), []
    duct = session("box-with-duct")
    state.apply(replace(duct.header, started_at=duct.header.started_at + timedelta(days=10)))
    for record in change(duct.records):
        state.apply(record)
        if isinstance(record, Sample) and record.t_s in times:
            told.append(than_before(state, tuple(state.analyst.phases()), behind))
    return told


def means(recorded, begin_s, end_s):
    keys = [channel.key for channel in recorded.header.channels]
    rows = [r.values for r in recorded.records if isinstance(r, Sample) and begin_s < r.t_s <= end_s]
    return [sum(row[keys.index(key)] for row in rows) / len(rows) for key in ("processor_temp_c", "package_power_w")]


def test_the_first_minute_of_a_phase_says_when_something_will_be_said(bought):
    assert told_at(100.0, 220.0, behind=bought) == ["Compared with 25 November from 1:00 of this phase on."] * 2


def test_cooler_at_the_same_power_and_then_more_watts_at_the_same_temperature(bought):
    """Means of the same 30 s of both files, and of the 15 s before the phase, which began at 180 s."""
    free, held = told_at(280.0, 700.0, behind=bought)
    left = sum(exp(-100.0 / constant) for constant in (100, 200, 400, 800, 1600)) / 5
    since = []
    for name in ("box-with-duct", "box-as-bought"):
        (temp, watts), (temp_0, watts_0) = (means(session(name), *span) for span in ((250.0, 280.0), (165.0, 179.9)))
        since.append((temp - 19.0 - left * (temp_0 - 19.0), watts - left * watts_0))
    (now_k, now_w), (then_k, then_w) = since
    expected = then_k * (now_w / then_w) ** 0.9
    past = left * (
        means(session("box-as-bought"), 165.0, 179.9)[0] - 19.0
    )  # half of it by the cooler, by the written rule
    cooler = (expected - now_k) * (1.0 + past / expected / 2.0)
    assert free == f"{cooler:.0f} ± 3 K cooler than on 25 November at the same power."
    assert held.endswith("W more than on 25 November at the same temperature.")


def test_a_phase_that_the_earlier_run_has_not_is_not_compared(bought):
    def renamed(records):
        return [replace(r, text="soak") if isinstance(r, Mark) and r.text == "all cores" else r for r in records]

    (told,) = told_at(300.0, change=renamed, behind=bought)
    assert told == "Not compared with 25 November: it has no phase of this name."


@pytest.mark.parametrize(("points", "is_told"), [(-7.0, False), (-8.0, True)])
def test_a_phase_of_the_same_name_that_was_loaded_otherwise_is_not_compared(points, is_told, bought):
    place = [channel.key for channel in session("box-with-duct").header.channels].index(keys.LOAD)

    def lighter(records):
        return [
            replace(r, values=(*r.values[:place], r.values[place] + points, *r.values[place + 1 :]))
            if isinstance(r, Sample)
            else r
            for r in records
        ]

    (told,) = told_at(300.0, change=lighter, behind=bought)
    assert (told == "Not compared with 25 November: it was loaded otherwise.") is is_told


def test_what_is_missing_is_named_and_in_which_run(bought):
    def without_room(records):
        return [r for r in records if not (isinstance(r, Mark) and r.kind is MarkKind.ROOM)]

    (told,) = told_at(300.0, change=without_room, behind=bought)
    assert told == "Not compared with 25 November: no room temperature here."
    earlier = session("box-as-bought")
    behind = Behind(replace(earlier, records=tuple(without_room(earlier.records))), analyst)
    (told,) = told_at(300.0, behind=behind)
    assert "no room temperature then" in told
    place = [channel.key for channel in earlier.header.channels].index(keys.PACKAGE_POWER)

    def without_power(records):
        return [
            replace(r, values=(*r.values[:place], None, *r.values[place + 1 :])) if isinstance(r, Sample) else r
            for r in records
        ]

    (told,) = told_at(300.0, change=without_power, behind=bought)
    assert "no package power here" in told


def test_a_phase_that_lasts_longer_than_its_like_is_no_longer_compared():
    earlier = session("box-as-bought")
    cut = replace(earlier, records=tuple(r for r in earlier.records if getattr(r, "t_s", 0.0) <= 400.0))
    (told,) = told_at(500.0, behind=Behind(cut, analyst))
    assert told == "Not compared with 25 November: that phase was over by then."


def test_another_machine_is_said_and_makes_the_interval_wider(bought):
    def other(records):
        return [replace(r, processor="Saltmarsh Eight") if isinstance(r, Machine) else r for r in records]

    (told,) = told_at(700.0, change=other, behind=bought)
    assert "than on 25 November at the same temperature, on another machine" in told
    same, two = (running_difference(moment(), moment(50.0), 300.0, same_machine=one) for one in (True, False))
    assert two.difference.high - two.difference.low > 1.5 * (same.difference.high - same.difference.low)


def test_a_run_of_the_same_day_is_told_by_its_time_and_one_of_another_year_by_that():
    started = session("box-as-bought").header.started_at
    assert when_words(started, started + timedelta(minutes=5)) == "at 13:10 UTC"
    assert when_words(started, started + timedelta(days=400)) == "on 25 November 2026"


def moment(temp_c=60.0, power_w=40.0, room_c=20.0, is_held=False, step_k=0.125, begin=None, room_u_k=0.5):
    return Moment(temp_c, power_w, room_c, room_u_k, step_k, is_held, begin or Begin(10.0, 4.0))


LONG_S = 1e6
"""So long into a phase nothing is left of its beginning."""


def test_the_warmer_room_is_taken_out():
    found = running_difference(moment(65.0, room_c=25.0), moment(60.0), 100.0)
    assert found.difference.value == pytest.approx(0.0)
    assert not found.is_sure


def test_by_hand():
    """40 K and 36 K at 40 W: doubts 2·0.5² of the rooms, 2·0.2² of noise, 2·0.125²/6 of steps, 2·(0.75 % of 40 K)²."""
    found = running_difference(moment(56.0), moment(60.0), LONG_S)
    u = (2 * 0.25 + 2 * 0.04 + 2 * 0.125**2 / 6 + 2 * 0.3**2) ** 0.5
    assert found.difference.value == pytest.approx(-4.0)
    assert found.difference.high + 4.0 == pytest.approx(2.0086 * u, rel=1e-3)  # t for 50 degrees, GUM Table G.2: 2.01


def test_what_was_warm_before_is_not_taken_for_a_worse_cooler():
    """It came from a load: 6 K warmer at the beginning, of which 68 % are left after 2 min by the written rule."""
    left = sum(exp(-120.0 / constant) for constant in (100, 200, 400, 800, 1600)) / 5
    found = running_difference(moment(60.0 + left * 6.0, begin=Begin(16.0, 4.0)), moment(60.0), 120.0)
    assert found.difference.value == pytest.approx(0.0, abs=1e-9)
    cold = running_difference(moment(60.0), moment(60.0), 120.0)
    assert found.difference.high > cold.difference.high  # how fast that is forgotten is not known


def test_a_thermometer_that_was_wrong_all_along_counts_less_while_the_beginning_does():
    early, late = (running_difference(moment(), moment(), phase_s).difference.high for phase_s in (60.0, LONG_S))
    assert early < late


def test_where_nothing_was_read_before_the_phase_the_first_minutes_are_wide():
    one = replace(moment(), begin=None)
    widths = [running_difference(one, one, phase_s).difference.high for phase_s in (60.0, 600.0, LONG_S)]
    assert widths[0] > widths[1] > widths[2]
    assert widths[0] > 2.0 * 3.0 * 0.75


def test_another_power_is_brought_to_the_power_of_now_with_a_doubt_of_the_law():
    found = running_difference(moment(60.0, power_w=44.0), moment(60.0, power_w=40.0), LONG_S)
    assert found.difference.value == pytest.approx(40.0 - 40.0 * 1.1**0.9)
    same = running_difference(moment(60.0), moment(60.0), LONG_S)
    more = (found.difference.high - found.difference.value) ** 2 - same.difference.high**2
    assert sqrt(more) == pytest.approx(2.0086 * 40.0 * 0.1 * log(1.1), rel=1e-3)
    assert not found.is_same_power


def test_rooms_apart_leave_a_doubt_of_the_fan():
    near, far = (running_difference(moment(40.0 + c, room_c=c), moment(), LONG_S).difference for c in (20.0, 26.0))
    assert far.high > near.high


def test_one_thermometer_read_in_both_runs_counts_half():
    both = (running_difference(moment(room_u_k=u), moment(room_u_k=u), LONG_S).difference.high for u in (0.5, 0.35))
    wide, narrow = both
    assert narrow < wide


@pytest.mark.parametrize(
    ("now", "then", "phase_s", "silence", "from_s"),
    [
        (moment(), moment(), 59.0, Silence.EARLY, 60.0),
        (moment(80.0, power_w=60.0), moment(), 300.0, Silence.POWERS_APART, None),
        (moment(31.0), moment(), 300.0, Silence.COOL, None),
        (moment(is_held=True), moment(), 100.0, Silence.HEAT, 180.0),
        (moment(begin=Begin(50.0, 40.0)), moment(begin=Begin(50.0, 40.0)), 300.0, Silence.COOLING, None),
    ],
)
def test_why_nothing_is_said(now, then, phase_s, silence, from_s):
    assert running_difference(now, then, phase_s) == NotSaid(silence, from_s)


def test_held_back_the_watts_are_compared():
    found = running_difference(moment(82.0, 50.0, is_held=True), moment(82.0, 40.0, is_held=True), LONG_S)
    assert found.is_watts
    assert found.difference.value == pytest.approx(10.0)
