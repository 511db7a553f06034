"""Who limits, and when, is decided by a stock kernel; the detector has to find it, and nothing else."""

import pytest

from benchmon.model import keys
from tests.kernel.guest import overlap_s

pytestmark = pytest.mark.kernel

FULL_KHZ = 3_600_000
PAUSE_S = 20.0
"""Recoveries shorter than this belong to the episode."""


def last_s(run):
    return run.samples[-1].t_s


def describe(run):
    return [(e["cause"], e["start_s"], e["end_s"], e["evidence"]) for e in run.events]


def test_load_steps_are_no_events(steady):
    assert steady.truth.limited("cool0", 0, apart_s=PAUSE_S) == []
    assert steady.events == [], describe(steady)


def test_governor_that_follows_the_load_is_no_event(on_demand):
    clocks = {clock for _, clock in on_demand.channel(keys.core_clock_key(0))}
    assert len(clocks) >= 2, "the clock did not even move"
    assert on_demand.events == [], describe(on_demand)


def test_thermal_governor_is_heat(hot):
    """Truth: the kernel's cooling-state history."""
    (stretch,) = hot.truth.limited("cool0", 0, apart_s=PAUSE_S)
    assert stretch[1] - stretch[0] > 10
    heat = [event for event in hot.events if event["cause"] == "thermal"]
    assert max(overlap_s(event, stretch, last_s(hot)) for event in heat) >= 0.5 * (
        min(stretch[1], last_s(hot)) - stretch[0]
    )
    assert [event for event in hot.events if event["cause"] != "thermal"] == [], describe(hot)
    assert all(event["start_s"] >= stretch[0] - 1.0 for event in heat)


def test_figures_of_the_heat_event(hot):
    (stretch,) = hot.truth.limited("cool0", 0, apart_s=PAUSE_S)
    event = max(hot.events, key=lambda event: overlap_s(event, stretch, last_s(hot)))
    start_s, end_s = event["start_s"], event["end_s"] or last_s(hot)
    assert start_s == pytest.approx(stretch[0], abs=3.0)
    assert event["clock_before_mhz"] == pytest.approx(3600, rel=0.02)
    assert event["clock_lowest_mhz"] in {2800, 2100, 1400}
    assert event["temp_plateau_c"] == pytest.approx(hot.truth.mean("die_c", start_s + 2, end_s), abs=2.0)
    assert event["power_before_w"] == pytest.approx(hot.truth.mean_power_w(stretch[0] - 6, stretch[0] - 1), rel=0.05)
    assert event["sustained"]["power_w"] < event["power_before_w"]


def test_platform_limit_is_not_heat(capped):
    (stretch,) = capped.truth.limited("bios_limit_khz", FULL_KHZ, apart_s=PAUSE_S)
    assert [event for event in capped.events if event["cause"] == "thermal"] == [], describe(capped)
    outside = [event for event in capped.events if event["cause"] == "outside"]
    assert outside, describe(capped)
    assert overlap_s(outside[0], stretch, last_s(capped)) >= 0.8 * (last_s(capped) - stretch[0])
    assert outside[0]["sustained"]["clock_mhz"] == pytest.approx(2400, rel=0.02)
