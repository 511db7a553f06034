"""Runs held against one another: the laws of it, and the story of the demo whose truth is known."""

import re
from dataclasses import replace
from math import log, sqrt
from pathlib import Path

import pytest

from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.analysis.compare.effects import Effects
from benchmon.model.comparison import Answer, Doubt, Want
from benchmon.model.records import Machine, Mark, MarkKind, Sample
from benchmon.session.reader import read_session
from benchmon.views.words.comparison import cooling_sentence
from tests.benchmarks.first_bench.reference import Reference

RECORDINGS = Path(__file__).resolve().parents[4] / "recordings"


def session(name: str):
    return read_session(RECORDINGS / f"{name}.session.jsonl")


def run_of(name: str, change=lambda session: session):
    return bench_run(change(session(name)), name)


@pytest.fixture(scope="module")
def bought():
    return run_of("box-as-bought")


@pytest.fixture(scope="module")
def duct():
    return run_of("box-with-duct")


@pytest.fixture(scope="module")
def warm():
    return run_of("box-in-a-warm-room")


def again(run, name, /, **tags):
    """The same readings as another recording with other tags."""
    header = replace(run.summary.header, session_id=name)
    return replace(run, name=name, summary=replace(run.summary, header=header, tags=tags))


def doubts(contrast) -> set[Doubt]:
    return {caveat.doubt for caveat in contrast.caveats}


def test_a_run_and_itself_differ_in_nothing(bought):
    (contrast,) = compare([bought, bought]).contrasts
    for verdict in (contrast.cooling, contrast.speed):
        assert verdict.answer is Answer.SAME
        assert (verdict.change.value, verdict.change.low, verdict.change.high) == (0.0, 0.0, 0.0)
        assert verdict.difference.value == 0.0
    assert contrast.changed == {}
    assert all(row.difference.value in {0.0, None} for phase in contrast.phases for row in phase.rows)
    assert sum(row.difference.value == 0.0 for phase in contrast.phases for row in phase.rows) > 20


@pytest.mark.parametrize("pair", [("bought", "duct"), ("duct", "warm"), ("bought", "warm")])
def test_swapping_changes_signs_only(pair, request):
    one, other = (request.getfixturevalue(name) for name in pair)
    (there,), (back,) = compare([one, other]).contrasts, compare([other, one]).contrasts
    assert (there.at.room_c, there.at.limit_c) == (back.at.room_c, back.at.limit_c)
    for a, b in ((there.cooling, back.cooling), (there.speed, back.speed)):
        assert a.difference.value == pytest.approx(-b.difference.value)
        assert a.difference.low == pytest.approx(-b.difference.high)
        assert 1.0 + a.change.low == pytest.approx(1.0 / (1.0 + b.change.high))
        assert (a.chance, a.more_runs, a.wants) == (pytest.approx(b.chance), b.more_runs, b.wants)
    rows = [
        (row, other)
        for p, q in zip(there.phases, back.phases, strict=True)
        for row, other in zip(p.rows, q.rows, strict=True)
    ]
    for row, other_row in rows:
        if row.difference.value is None:
            assert other_row.difference.why_not == row.difference.why_not
        else:
            assert row.difference.value == pytest.approx(-other_row.difference.value)
            if not row.is_counted:
                assert row.difference.low == pytest.approx(-other_row.difference.high)


def test_the_duct_helped_by_as_much_as_the_bench_knows(bought, duct):
    """The truth is the network of heat stores alone, gone on for ever with the fan as it is there."""
    from benchmon.virtual_bench.demo import demo_box

    (contrast,) = compare([bought, duct]).contrasts
    verdict, at = contrast.cooling, contrast.at
    truth = [Reference(demo_box(1, chapter).spec, at.room_c).capacity_w(at.limit_c) for chapter in ("bought", "duct")]
    assert verdict.answer is Answer.BETTER
    assert verdict.change.low < truth[1] / truth[0] - 1.0 < verdict.change.high
    assert verdict.difference.low < truth[1] - truth[0] < verdict.difference.high
    assert (at.measured, at.runs) == ((1, 0), (1, 1))
    assert Doubt.HELD in doubts(contrast)
    assert contrast.changed == {"duct": ("none", "fitted")}


def test_another_room_is_not_taken_for_another_cooler(duct, warm):
    """It was held back in the warm room, and lost work: but the cooler is the same one."""
    (contrast,) = compare([duct, warm]).contrasts
    assert contrast.cooling.answer is Answer.CANNOT_SAY
    assert contrast.cooling.change.low < 0.0 < contrast.cooling.change.high
    assert contrast.cooling.wants == (Want.ALIKE,)
    assert contrast.speed.answer is Answer.WORSE
    assert {Doubt.ROOM, Doubt.HELD} <= doubts(contrast)


def test_the_best_comes_first_and_many_comparisons_are_said_to_be_many(bought, duct, warm):
    made = compare([bought, warm, duct])
    assert made.is_many
    changes = [contrast.cooling.change for contrast in made.contrasts]
    assert changes[0].value >= changes[1].value
    (alone,) = compare([bought, duct]).contrasts
    (among,) = (contrast for contrast in made.contrasts if contrast.side.tags == {"duct": "fitted"})
    assert among.cooling.change.low < alone.cooling.change.low
    assert among.cooling.chance == pytest.approx(min(2 * alone.cooling.chance, 1.0))
    (both,) = (contrast for contrast in made.contrasts if len(contrast.changed) == 2)
    assert Doubt.MANY_TAGS in doubts(both)


def test_repeats_are_found_by_their_tags_and_tell_the_spread(bought, duct):
    runs = [
        again(bought, "a1", duct="none", run="1"),
        again(bought, "a2", duct="none", run="2"),
        again(duct, "b1", duct="fitted"),
    ]
    made = compare(runs)
    assert [run.name for run in made.before.runs] == ["a1", "a2"]
    assert made.before.tags == {"duct": "none"}
    assert (made.spread.seen, made.spread.degrees) == (pytest.approx(0.0), 1)
    assert compare([bought, duct]).spread.seen is None


def test_runs_of_one_configuration_alone_have_nothing_to_be_held_against(bought):
    runs = [again(bought, name, duct="none", repeat=name) for name in ("1", "2", "3")]
    assert compare(runs).contrasts == ()


def test_runs_with_the_same_pair_are_held_against_one_another_pair_by_pair(bought, duct):
    runs = [
        again(run, f"{run.name}{n}", duct=tag, pair=n)
        for run, tag in ((bought, "none"), (duct, "fitted"))
        for n in "12"
    ]
    (contrast,) = compare(runs).contrasts
    assert contrast.is_paired
    unpaired = [again(runs[0], "x", duct="none", pair="1"), *runs[1:3], again(runs[3], "y", duct="fitted", pair="3")]
    assert not compare(unpaired).contrasts[0].is_paired


def test_a_told_spread_widens_or_narrows(bought, duct):
    def width(spread):
        (contrast,) = compare([bought, duct], spread).contrasts
        return contrast.cooling.change.high - contrast.cooling.change.low

    assert width(0.0) < width(None) < width(0.1)


def without_room(session):
    marks = tuple(
        record for record in session.records if not (isinstance(record, Mark) and record.kind is MarkKind.ROOM)
    )
    return replace(session, records=marks)


def test_without_a_room_nothing_is_said_and_what_would_help_is(bought):
    (contrast,) = compare([bought, run_of("box-with-duct", without_room)]).contrasts
    assert contrast.cooling.answer is Answer.CANNOT_SAY
    assert contrast.cooling.wants == (Want.ROOM,)
    assert "box-with-duct" in contrast.cooling.why_not
    assert contrast.speed.answer is Answer.BETTER


def on_another_machine(session):
    records = tuple(replace(r, processor="Saltmarsh Eight") if isinstance(r, Machine) else r for r in session.records)
    return replace(session, records=records)


def test_another_machine_is_said_and_widens_the_interval(bought, duct):
    (same,) = compare([bought, duct]).contrasts
    (other,) = compare([bought, run_of("box-with-duct", on_another_machine)]).contrasts
    assert Doubt.MACHINE in doubts(other)
    assert Doubt.MACHINE not in doubts(same)
    assert other.cooling.change.low < same.cooling.change.low


def test_an_answer_is_what_the_interval_says():
    def answer(after, u):
        return Effects([0.0], [after], (u, u), 0.0).answer()

    assert answer(0.2, 0.02) is Answer.BETTER
    assert answer(-0.2, 0.02) is Answer.WORSE
    assert answer(0.01, 0.015) is Answer.SAME
    assert answer(0.05, 0.03) is Answer.CANNOT_SAY


def test_more_runs_are_asked_for_where_they_decide_and_not_where_they_cannot():
    few = Effects([0.0], [0.09], (0.03, 0.03), 0.0)
    assert few.answer() is Answer.CANNOT_SAY
    assert few.more_runs() == 1
    more = Effects([0.0, 0.0], [0.09, 0.09], (0.03, 0.03), 0.0)
    assert more.answer() is Answer.BETTER
    assert Effects([0.0], [0.09], (0.03, 0.03), 0.2).more_runs() is None


def test_the_example_of_the_method_page_is_what_is_computed(bought, duct):
    from benchmon.analysis.compare.compare import sides_of
    from benchmon.analysis.compare.judging import Asked, judge_cooling, shared_by

    before, after = sides_of([bought, duct])
    verdict, at, effects = judge_cooling(Asked(before, after, shared_by(before, after), 0.03, 0.95))
    found = effects.difference()
    told = [
        f"they sustain {verdict.before:.1f} W and {verdict.after:.1f} W",
        f"= {found.value:.3f}. Between limit and room lie {at.limit_c - at.room_c:.1f} K",
        f"*a* = {100 * effects.own_u[0]:.2f} %, *b* = {100 * effects.own_u[1]:.2f} %",
        f"*c* = {100 * effects.common_u:.2f} %",
        f"= {100 * found.u:.2f} %, with",
        f"= {found.degrees:.0f} degrees",
        f"± {found.half():.3f}, or {100 * verdict.change.low:.0f} to {100 * verdict.change.high:.0f} % more watts",
    ]
    page = " ".join((RECORDINGS.parent / "docs/method.md").read_text().split())
    assert [one for one in told if one not in page] == []


def without_temperature(session):
    place = [channel.key for channel in session.header.channels].index("processor_temp_c")
    records = tuple(
        replace(r, values=tuple(None if at == place else v for at, v in enumerate(r.values)))
        if isinstance(r, Sample)
        else r
        for r in session.records
    )
    return replace(session, records=records)


def test_without_a_temperature_that_is_what_is_wanted(bought):
    (contrast,) = compare([bought, run_of("box-with-duct", without_temperature)]).contrasts
    assert contrast.cooling.wants == (Want.TEMPERATURE,)


def in_a_room(session, room_c):
    """The same readings, told to be in another room: a cooler that is worse by as much."""
    marks = tuple(
        replace(r, value=room_c) if isinstance(r, Mark) and r.kind is MarkKind.ROOM else r for r in session.records
    )
    return replace(session, records=marks, header=replace(session.header, session_id="elsewhere"))


def test_runs_that_ran_free_are_compared_by_the_rise_and_the_watts_at_the_limit_stand_beside_it(duct):
    """58 K of rise, told to be 53 and so 5 K less: the reading of the room is all that differs."""
    made = compare([duct, run_of("box-with-duct", lambda one: in_a_room(one, 24.0))])
    (contrast,) = made.contrasts
    assert (contrast.cooling.unit, contrast.capacity.unit) == ("K", "W")
    assert contrast.at.power_w == pytest.approx(52.0, abs=1.0)
    assert contrast.at.room_c == pytest.approx(21.5)
    assert contrast.cooling.difference.value == pytest.approx(-5.0, abs=1.0)
    assert contrast.capacity_at.limit_c == pytest.approx(97.0)
    assert contrast.capacity.difference.value > 0.0
    assert contrast.cooling.change.value == pytest.approx(contrast.capacity.change.value, abs=0.03)
    drawn = cooling_sentence(contrast, made.before)
    assert re.search(r"With 52 W \(all cores\) in a 22 °C room it ends \d(\.\d)? ± \d(\.\d)? K cooler", drawn)


def test_where_heat_held_one_the_watts_are_the_verdict_and_are_not_said_twice(bought, duct):
    (contrast,) = compare([bought, duct]).contrasts
    assert contrast.cooling.unit == "W"
    assert contrast.capacity_at is None


def test_a_throttled_run_that_still_slowed_down_is_said_to(bought, duct):
    def still_falling(run):
        (main,) = (phase for phase in run.phases if phase.name == "all cores")
        moved = replace(main, row=replace(main.row, sustained=replace(main.row.sustained, is_settled=False)))
        return replace(run, phases=tuple(moved if phase is main else phase for phase in run.phases))

    assert Doubt.STILL_MOVING not in doubts(compare([bought, duct]).contrasts[0])
    (caveat,) = (
        one for one in compare([still_falling(bought), duct]).contrasts[0].caveats if one.doubt is Doubt.STILL_MOVING
    )
    assert caveat.what == "all cores of box-as-bought"


def test_a_copy_of_a_recording_is_no_repeat(bought, duct):
    """The same readings under two names would make the scatter look small and the interval narrow."""
    a = again(bought, "a1", duct="none")
    copy = replace(a, name="copy of a1")
    made = compare([a, copy, again(duct, "b1", duct="fitted")])
    assert [run.name for run in made.before.runs] == ["a1"]
    assert made.copies == {"copy of a1": "a1"}
    assert made.spread.degrees == 0
    assert compare([a, copy]).copies == {}


def doubts_of_cooling(watts, length_s=900.0, held=False):
    from benchmon.analysis.compare.cooling import Cooling

    return [Cooling(50.0, 0.01, 0.04, 0.0, 50.0, held, watts, length_s)]


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        ({"watts": 40.0}, 0.07 * 2 * 0.04**2),
        ({"watts": 50.0}, 0.07 * 2 * 0.04**2 + (0.10 * log(50.0 / 40.0)) ** 2),
        ({"watts": 65.0}, 2 * 0.04**2),  # too far apart for the same fit to speak of both
        ({"watts": 40.0, "length_s": 1200.0}, 2 * 0.04**2),
        ({"watts": 40.0, "held": True}, 2 * 0.04**2),
    ],
)
def test_what_two_fits_share_cancels_and_the_law_between_two_powers_does_not(after, expected):
    """By hand: fits of 4 % each, no doubt of the room; swapped, the same."""
    from benchmon.analysis.compare.cooling import common_u

    sides = doubts_of_cooling(40.0), doubts_of_cooling(**after)
    for one, other in (sides, sides[::-1]):
        assert common_u(one, other, same_machine=True, same_work=True) == pytest.approx(sqrt(expected))
    assert common_u(*sides, same_machine=False, same_work=True) == pytest.approx(sqrt(2) * 0.04)
