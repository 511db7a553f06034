"""A lower clock under wide instructions is how the processor was made, and no event; what limits it then still is one.

That processors lower their clock for wide instructions by design, without any limit being met: Intel, "Intel 64 and
IA-32 Architectures Optimization Reference Manual", on frequency license levels of the vector extensions.
"""

from collections.abc import Iterator

import pytest

from benchmon.analysis.intake.series import Observation, ObservationMaker
from benchmon.analysis.throttle.detector import Detector
from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, Sample
from tests.unit.analysis.test_series import header

RATED = Observation(0.0, rated_clock_mhz=2800.0, highest_clock_mhz=3400.0, lowest_clock_mhz=800.0)


def stretch(
    start_s: int, end_s: int, work: str, clock_mhz: float | None, **more: float | None
) -> Iterator[Observation]:
    """A load of all cores at one clock, warming slowly, with a ripple of a tenth of a per cent."""
    for t_s in range(start_s, end_s):
        clock = None if clock_mhz is None else clock_mhz * (1.0 + 0.001 * (t_s % 3 - 1))
        fields = {"clock_mhz": clock, "temp_c": 55.0 + t_s / 100.0, "load_pct": 99.5, "busy_cores": 4.0} | more
        yield Observation(float(t_s), work=work, rated_clock_mhz=RATED.rated_clock_mhz, **fields)


def several(*what: object, **more: object) -> list[Observation]:
    return list(stretch(*what, **more))


def idle(start_s: int, end_s: int) -> Iterator[Observation]:
    for t_s in range(start_s, end_s):
        yield Observation(float(t_s), clock_mhz=800.0, temp_c=40.0, load_pct=0.5, busy_cores=0.0)


def events_of(*stretches: Iterator[Observation]) -> tuple:
    detector = Detector()
    for each in stretches:
        for seen in each:
            detector.push(seen)
    detector.finish()
    return detector.events


@pytest.mark.parametrize("wide", ["widest", "mixture"])
def test_wide_work_may_run_slower_than_what_came_before(wide):
    """Neither power nor limits are read: only that the work is another one tells it from a drop."""
    assert not events_of(idle(0, 30), stretch(30, 150, "scalar", 3200.0), stretch(150, 300, wide, 2850.0))
    assert events_of(idle(0, 30), stretch(30, 150, "scalar", 3200.0), stretch(150, 300, "scalar", 2850.0))


def test_wide_work_may_run_below_the_rated_clock():
    assert not events_of(idle(0, 30), stretch(30, 200, "widest", 2300.0))
    assert events_of(idle(0, 30), stretch(30, 200, "scalar", 2300.0))
    assert events_of(idle(0, 30), stretch(30, 200, "", 2300.0))


def test_but_not_far_below_it():
    assert events_of(idle(0, 30), stretch(30, 200, "widest", 1400.0))


def fast_idle(start_s: int, end_s: int) -> Iterator[Observation]:
    """Without load the clock stands at its highest, as under a governor that never lowers it."""
    for seen in idle(start_s, end_s):
        yield Observation(seen.t_s, clock_mhz=4200.0, temp_c=40.0, load_pct=0.5, busy_cores=0.0)


@pytest.mark.parametrize("power_w", [None, 30.0])
def test_wide_work_may_run_far_below_a_fast_idle_clock(power_w):
    """All cores, wide code, flat from the first second, cool, at no told limit: a third below the idle clock by design."""
    assert not events_of(fast_idle(0, 30), stretch(30, 200, "widest", 2800.0, power_w=power_w))
    assert events_of(fast_idle(0, 30), stretch(30, 200, "scalar", 2800.0, power_w=power_w))
    assert events_of(fast_idle(0, 30), stretch(30, 200, "widest", 1600.0, power_w=power_w))


def test_what_falls_within_the_same_wide_work_is_an_event():
    assert events_of(idle(0, 30), stretch(30, 150, "widest", 2900.0), stretch(150, 300, "widest", 2600.0))


def test_it_is_measured_against_the_same_work_when_that_comes_again():
    """Wide work ran at 2.9 GHz; when it comes again at 2.5 GHz something limits it, whatever scalar work did between."""
    again = stretch(150, 300, "widest", 2500.0)
    first, between = stretch(30, 90, "widest", 2900.0), stretch(90, 150, "scalar", 3200.0)
    (event,) = events_of(idle(0, 30), first, between, again)
    assert event.start_s == pytest.approx(150.0, abs=2.0)
    assert event.clock_before_mhz == pytest.approx(2900.0, abs=30.0)


def test_rates_of_two_kinds_are_not_held_against_each_other():
    """No clock is read, so that the work rate stands for speed; units of the kinds differ by a factor of ten."""
    scalar = several(30, 120, "scalar", None, work_rate=3000.0, load_pct=None)
    memory = several(120, 240, "memory", None, work_rate=30.0, load_pct=None)
    slower = several(240, 360, "memory", None, work_rate=25.0, load_pct=None)
    assert not events_of(scalar, memory)
    assert events_of(scalar, memory, slower)


def test_another_share_of_the_time_is_other_work():
    full = several(30, 120, "widest", None, work_rate=3000.0)
    half = several(120, 240, "widest at 50 %", None, work_rate=1500.0)
    assert not events_of(full, half)


@pytest.mark.parametrize("power_is_read", [True, False])
def test_held_at_a_steady_power_from_the_start_needs_a_clock_that_wide_work_has_shown(power_is_read):
    """A clock that moves while power stands still, a tenth below the idle clock: a limit for scalar work only."""

    def restless(work: str) -> Iterator[Observation]:
        for seen in stretch(40, 150, work, 2900.0, power_w=30.0 if power_is_read else None):
            moved = (seen.clock_mhz or 0.0) * (1.0 + 0.012 * (int(seen.t_s) % 7 - 3) / 3)
            yield Observation(**{name: getattr(seen, name) for name in seen._fields} | {"clock_mhz": moved})

    def idle_at_highest() -> Iterator[Observation]:
        for t_s in range(40):
            yield Observation(float(t_s), clock_mhz=3400.0, temp_c=40.0, load_pct=0.5, busy_cores=0.0)

    assert not events_of(idle_at_highest(), restless("widest"))
    assert bool(events_of(idle_at_highest(), restless("scalar"))) is power_is_read


def test_the_kind_comes_from_the_records_of_the_load():
    maker = ObservationMaker()
    maker.feed(header(keys.CLOCK))

    def work_after(*changes: LoadChange) -> str:
        for change in changes:
            maker.feed(change)
        return maker.feed(Sample(1.0, (3000.0,))).work

    started, stopped = LoadAction.STARTED, LoadAction.STOPPED
    assert work_after() == ""
    assert work_after(LoadChange(0.0, started, "x", 4, work="widest")) == "widest"
    assert work_after(LoadChange(0.0, started, "x", 4, work="memory", duty=0.5)) == "memory at 50 %"
    assert work_after(LoadChange(0.0, stopped, "x", 4)) == ""
    assert work_after(LoadChange(0.0, started, "matrix work on all 4 cores", 4)) == "scalar"
    assert work_after(LoadChange(0.0, started, "./bench")) == ""


def test_a_short_pause_between_two_times_of_the_same_work_ends_nothing():
    free, held = stretch(30, 150, "widest", 2900.0), stretch(150, 240, "widest", 2500.0)
    (event,) = events_of(idle(0, 30), free, held, idle(240, 243), stretch(243, 330, "widest", 2500.0))
    assert event.is_open
