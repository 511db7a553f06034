"""The running difference to the run that is laid behind: said once it means something, and not before."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from benchmon.analysis.compare.running import Moment, running_difference
from benchmon.analysis.live import LiveAnalysis
from benchmon.model.records import Sample
from benchmon.session.reader import read_session
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.than_before import than_before

RECORDINGS = Path(__file__).resolve().parents[3] / "recordings"


def analyst():
    return LiveAnalysis(look_every_s=float("inf"))


def session(name):
    return read_session(RECORDINGS / f"{name}.session.jsonl")


@pytest.fixture(scope="module")
def bought():
    return Behind(session("box-as-bought"), analyst)


@pytest.fixture(scope="module")
def said(bought):
    """What the screen says of the box with its duct, ten days later, at some times."""
    state, told = ViewState(analyst), {}
    wanted = {100.0, 220.0, 270.0, 700.0}
    duct = session("box-with-duct")
    state.apply(replace(duct.header, started_at=duct.header.started_at + timedelta(days=10)))
    for record in duct.records:
        state.apply(record)
        if isinstance(record, Sample) and record.t_s in wanted:
            told[record.t_s] = than_before(state, tuple(state.analyst.phases()), bought)
    return told


def means(recorded, begin_s, end_s):
    keys = [channel.key for channel in recorded.header.channels]
    rows = [r.values for r in recorded.records if isinstance(r, Sample) and begin_s <= r.t_s <= end_s]
    return [sum(row[keys.index(key)] for row in rows) / len(rows) for key in ("processor_temp_c", "package_power_w")]


def test_the_first_minute_of_a_phase_says_nothing(said):
    assert said[100] == said[220] == ""


def test_cooler_at_the_same_power_while_both_run_free(said):
    """Means of the same 30 s of both files; the powers are 3 % apart at most, and what was then is brought to now's."""
    (temp, watts), (temp_then, watts_then) = (
        means(session(name), 240.0, 270.0) for name in ("box-with-duct", "box-as-bought")
    )
    cooler = (temp_then - 19.0) * watts / watts_then - (temp - 19.0)
    assert said[270] == f"{cooler:.0f} ± 2 K cooler than on 25 November at the same power."


def test_more_watts_at_the_same_temperature_once_the_earlier_run_was_held(said):
    assert said[700].endswith("W more than on 25 November at the same temperature.")


def moment(temp_c=60.0, power_w=40.0, room_c=20.0, is_held=False, step_k=0.125):
    return Moment(temp_c, power_w, room_c, step_k, is_held)


def test_the_warmer_room_is_taken_out():
    found = running_difference(moment(65.0, room_c=25.0), moment(60.0), 100.0)
    assert found is None
    later = running_difference(moment(65.0, room_c=25.0), moment(60.0), 200.0)
    assert later.difference.value == pytest.approx(0.0)
    assert later.difference.low < 0.0 < later.difference.high


def test_by_hand():
    """40 K and 36 K at 40 W: doubts 2·0.5² of the rooms, 2·0.2² of noise, 2·0.125²/6 of steps, 2·(0.75 % of 40 K)²."""
    found = running_difference(moment(56.0), moment(60.0), 100.0)
    u = (2 * 0.25 + 2 * 0.04 + 2 * 0.125**2 / 6 + 2 * 0.3**2) ** 0.5
    assert found.difference.value == pytest.approx(-4.0)
    assert found.difference.high + 4.0 == pytest.approx(2.0086 * u, rel=1e-3)  # t for 50 degrees, GUM Table G.2: 2.01


def test_another_power_is_brought_to_the_power_of_now():
    found = running_difference(moment(60.0, power_w=44.0), moment(60.0, power_w=40.0), 100.0)
    assert found.difference.value == pytest.approx(40.0 - 44.0)
    assert not found.is_same_power


def test_powers_far_apart_are_not_compared():
    assert running_difference(moment(80.0, power_w=60.0), moment(60.0, power_w=40.0), 300.0) is None


def test_held_back_the_watts_are_compared():
    found = running_difference(moment(82.0, 50.0, is_held=True), moment(82.0, 40.0, is_held=True), 100.0)
    assert found.is_watts
    assert found.difference.value == pytest.approx(10.0)
