"""Quantity by quantity: what is read, what is refused and why, and how wide its interval is, by hand.

Of one run each an interval is ± t(8)·√2·u (8 degrees of freedom behind what is expected; t from scipy).
"""

from math import sqrt
from types import SimpleNamespace

import pytest
from scipy import stats

from benchmon.analysis.compare.bench_run import OTHER_KIND
from benchmon.analysis.compare.differences import (
    ALIKE,
    CLOCK_UNTIL,
    ENERGY,
    HELD,
    POWER_UNTIL,
    RESISTANCE,
    RISE,
    RUN_U,
    SENSOR_U_K,
    TEMP_UNTIL,
    WORK_WHOLE,
    Shared,
    differences,
    score_of,
)
from benchmon.analysis.thermal.steady import COUNTER_U
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.events import Cause
from benchmon.model.findings import Figure, Score
from benchmon.model.units import Unit

T8 = stats.t.ppf(0.975, 8)
ALONE = Shared(machine=True)
TEMP_U2 = 1.0 / 6.0 + 0.2**2
"""Square of what one reading of a sensor with steps of 1 K leaves open: the step twice (down and up) and 0.2 K."""


def run(length_s=600.0, channels=(), step=1.0):
    temp = Channel(keys.PROCESSOR_TEMP, "t", Unit.CELSIUS, "chip", step)
    header = SimpleNamespace(channels=(temp, *channels))
    return SimpleNamespace(length_s=lambda _: length_s, summary=SimpleNamespace(header=header))


class Phase(SimpleNamespace):
    """As far as quantities are read from it."""

    def reading(self, key):
        return self.readings.get(key)


def phase(
    room_c=20.0,
    held_s=0,
    by_heat=False,
    before=None,
    sustained=None,
    scores=(),
    energy=None,
    r=None,
    settled=None,
    **reads,
):
    known = {
        keys.CLOCK: reads.get("clock"),
        keys.PACKAGE_POWER: reads.get("power"),
        keys.WALL_POWER: reads.get("wall"),
        keys.PROCESSOR_TEMP: reads.get("temp"),
        keys.WORK_RATE: reads.get("rate"),
    }
    means = {key: SimpleNamespace(mean=value) for key, value in known.items() if value is not None}
    if "whole_rate" in reads:
        means[keys.WORK_RATE] = SimpleNamespace(mean=reads["whole_rate"])
    settling = {} if settled is None else {keys.PROCESSOR_TEMP: SimpleNamespace(settled=settled)}
    row = SimpleNamespace(
        means=means,
        room_c=room_c,
        before=before,
        sustained=sustained,
        scores=tuple(Score(value, name, Figure()) for value, name in scores),
        energy_j=Figure(energy),
        resistance_k_per_w=Figure() if r is None else Figure(*r),
        settling=settling,
    )
    held = {Cause.THERMAL: float(held_s)} if by_heat else {}
    return Phase(row=row, readings=known, held_s=held, throttled_s=held_s)


def rows_of(before, after, shared=ALONE, spread=0.03, runs=None):
    """Rows by their key; each side a phase, or several."""
    sides = [side if isinstance(side, list) else [side] for side in (before, after)]
    made = [[(run() if runs is None else runs[which], one) for one in side] for which, side in enumerate(sides)]
    return {row.key: row for row in differences(*made, shared, spread)}


def half(row):
    assert row.difference.high - row.difference.value == pytest.approx(row.difference.value - row.difference.low)
    return row.difference.high - row.difference.value


def test_only_what_was_read_on_one_side_at_least_has_a_row():
    rows = rows_of(phase(clock=3000.0), phase(power=20.0))
    assert set(rows) == {keys.CLOCK, keys.PACKAGE_POWER, HELD}
    assert (rows[keys.CLOCK].before, rows[keys.CLOCK].after) == (3000.0, None)
    assert rows[keys.CLOCK].difference.why_not == rows[keys.PACKAGE_POWER].difference.why_not == "not read in all runs"
    assert [rows[key].unit for key in (keys.CLOCK, keys.PACKAGE_POWER, HELD)] == ["MHz", "W", "s"]


def test_means_are_those_of_the_runs_that_read_it_and_a_difference_needs_all():
    rows = rows_of([phase(clock=3000.0), phase(clock=3200.0)], [phase(clock=3300.0), phase()])
    assert (rows[keys.CLOCK].before, rows[keys.CLOCK].after) == (3100.0, 3300.0)
    assert rows[keys.CLOCK].difference.why_not == "not read in all runs"


@pytest.mark.parametrize(("key", "name"), [(keys.CLOCK, "clock"), (keys.WORK_RATE, "rate")])
def test_what_counts_alike_everywhere_scatters_from_run_to_run(key, name):
    row = rows_of(phase(**{name: 2000.0}), phase(**{name: 2100.0}))[key]
    assert row.difference.value == 100.0
    assert half(row) == pytest.approx(T8 * RUN_U * sqrt(2000.0**2 + 2100.0**2), rel=1e-4)
    other = rows_of(phase(**{name: 2000.0}), phase(**{name: 2100.0}), Shared(machine=False))[key]
    assert half(other) == pytest.approx(half(row))


@pytest.mark.parametrize(
    ("key", "name", "scale", "digit"),
    [
        (keys.PACKAGE_POWER, "power", COUNTER_U, 0.0),
        (keys.WALL_POWER, "wall", 0.01, 0.3),
        (ENERGY, "energy", 0.01, 0.0),
    ],
)
def test_the_scale_of_a_meter_touches_the_difference_alone_where_it_is_one_meter(key, name, scale, digit):
    rows = [rows_of(phase(**{name: 40.0}), phase(**{name: 50.0}), Shared(machine=one))[key] for one in (True, False)]
    own = sqrt((RUN_U * 40.0) ** 2 + (RUN_U * 50.0) ** 2 + 2.0 * digit**2)
    for row, common in zip(rows, (scale * 10.0, scale * sqrt(40.0**2 + 50.0**2)), strict=True):
        degrees = (own**2 + common**2) ** 2 / (own**4 / 8.0 + common**4 / 50.0)
        assert half(row) == pytest.approx(stats.t.ppf(0.975, degrees) * sqrt(own**2 + common**2), rel=2e-3)


def test_a_wall_meter_that_is_read_along_has_no_digit_to_be_typed():
    wall = Channel(keys.WALL_POWER, "wall", Unit.WATT, "meter")
    typed, read = (
        rows_of(phase(wall=40.0), phase(wall=40.0), runs=(run(channels=known), run(channels=known)))[keys.WALL_POWER]
        for known in ((), (wall,))
    )
    assert half(read) == pytest.approx(T8 * RUN_U * 40.0 * sqrt(2.0), rel=1e-4)
    assert half(typed) == pytest.approx(T8 * sqrt(2.0 * ((RUN_U * 40.0) ** 2 + 0.3**2)), rel=1e-4)


def test_temperature_and_rise_by_hand():
    """Steps, noise, how the cooler sits (3 % of the rise); the rise has the room besides (0.5 K)."""
    rows = rows_of(phase(temp=70.0), phase(temp=60.0))
    seats = (0.03 * 50.0) ** 2 + (0.03 * 40.0) ** 2
    assert half(rows[keys.PROCESSOR_TEMP]) == pytest.approx(T8 * sqrt(2.0 * TEMP_U2 + seats), rel=1e-4)
    assert half(rows[RISE]) == pytest.approx(T8 * sqrt(2.0 * (TEMP_U2 + 0.5**2) + seats), rel=1e-4)
    assert [(rows[key].before, rows[key].after, rows[key].unit) for key in (keys.PROCESSOR_TEMP, RISE)] == [
        (70.0, 60.0, "°C"),
        (50.0, 40.0, "K"),
    ]


@pytest.mark.parametrize("key", [keys.PROCESSOR_TEMP, RISE])
def test_two_machines_have_two_sensors(key):
    one, two = (rows_of(phase(temp=70.0), phase(temp=70.0), Shared(machine=same), 0.0)[key] for same in (True, False))
    own = sqrt(2.0 * (TEMP_U2 + (0.5**2 if key == RISE else 0.0)))
    assert half(one) == pytest.approx(T8 * own, rel=1e-4)
    common = sqrt(2.0) * SENSOR_U_K
    degrees = (own**2 + common**2) ** 2 / (own**4 / 8.0 + common**4 / 50.0)
    assert half(two) == pytest.approx(stats.t.ppf(0.975, degrees) * sqrt(own**2 + common**2), rel=2e-3)


def test_a_temperature_that_heat_defends_does_not_show_how_the_cooler_sits():
    row = rows_of(*[phase(temp=82.0, held_s=300, by_heat=True)] * 2)[keys.PROCESSOR_TEMP]
    assert half(row) == pytest.approx(T8 * sqrt(2.0 * TEMP_U2), rel=1e-4)


def test_without_a_room_there_is_no_rise_and_a_colder_sensor_has_a_seat_of_nothing():
    rows = rows_of(phase(temp=70.0, room_c=None), phase(temp=70.0))
    assert (rows[RISE].before, rows[RISE].after) == (None, 50.0)
    assert rows[RISE].difference.why_not == "not read in all runs"
    cold = rows_of(*[phase(temp=15.0)] * 2)
    assert cold[RISE].before == -5.0
    assert half(cold[keys.PROCESSOR_TEMP]) == pytest.approx(T8 * sqrt(2.0 * TEMP_U2), rel=1e-4)
    assert keys.PROCESSOR_TEMP not in rows_of(phase(), phase())


def test_a_sensor_without_told_steps_has_none():
    row = rows_of(*[phase(temp=70.0)] * 2, spread=0.0, runs=(run(step=None), run(step=None)))[keys.PROCESSOR_TEMP]
    assert half(row) == pytest.approx(T8 * sqrt(2.0) * 0.2, rel=1e-4)


R = (1.0, 0.902, 1.098)
"""Half of its interval is 0.098: u is 0.05."""


def test_a_resistance_by_hand():
    """Of 5 %, counter 1.7 % and room 0.5/50 = 1 % are told by themselves; 0.93 of the square of the rest cancels."""
    same, other = (
        rows_of(*[phase(temp=70.0, r=R, settled=True)] * 2, Shared(machine=machine))[RESISTANCE]
        for machine in (True, False)
    )
    own = sqrt(2.0) * sqrt(0.01**2 + 0.03**2)
    rest = 0.05**2 - COUNTER_U**2 - 0.01**2
    apart = 2.0 * COUNTER_U**2 + (2.0 * SENSOR_U_K / 50.0) ** 2 / 2.0
    for row, squares in ((same, (1.0 - ALIKE) * 2.0 * rest), (other, 2.0 * rest + apart)):
        degrees = (own**2 + squares) ** 2 / (own**4 / 8.0 + squares**2 / 50.0)
        assert half(row) == pytest.approx(stats.t.ppf(0.975, degrees) * sqrt(own**2 + squares), rel=2e-3)
    work = rows_of(*[phase(temp=70.0, r=R, settled=True)] * 2, Shared(machine=True, other_work=OTHER_KIND))[RESISTANCE]
    assert half(work) > half(same)


@pytest.mark.parametrize(
    "bad", [{"settled": False}, {"settled": None}, {"r": None}, {"r": (1.0, None, None)}, {"temp": 20.0}]
)
def test_of_what_did_not_settle_no_resistance_is_told(bad):
    good = {"temp": 70.0, "r": R, "settled": True}
    row = rows_of(phase(**good), phase(**{**good, **bad})).get(RESISTANCE)
    assert (row.before, row.after) == (1.0, None)
    assert row.difference.why_not == ("not settled in all" if "settled" in bad else "not read in all runs")


def test_a_resistance_of_what_heat_throttled_is_refused():
    good = {"temp": 70.0, "r": R, "settled": True}
    row = rows_of(phase(**good), phase(**good, held_s=60, by_heat=True))[RESISTANCE]
    assert row.difference.why_not == "throttled by heat"
    assert rows_of(phase(**good), phase(**good, held_s=60))[RESISTANCE].difference.value == 0.0


UNTIL = SimpleNamespace(clock_mhz=3500.0, power_w=50.0, temp_last_c=82.0)


def test_what_it_ran_at_until_it_was_throttled():
    rows = rows_of(phase(before=UNTIL), phase(before=UNTIL))
    assert [rows[key].before for key in (CLOCK_UNTIL, POWER_UNTIL, TEMP_UNTIL)] == [3500.0, 50.0, 82.0]
    assert half(rows[CLOCK_UNTIL]) == pytest.approx(T8 * sqrt(2.0) * RUN_U * 3500.0, rel=1e-4)
    assert half(rows[TEMP_UNTIL]) == pytest.approx(T8 * sqrt(2.0 * TEMP_U2), rel=1e-4)
    rows = rows_of(phase(before=UNTIL), phase())
    assert {rows[key].difference.why_not for key in (CLOCK_UNTIL, POWER_UNTIL, TEMP_UNTIL)} == {"not throttled in all"}
    two = rows_of(phase(before=UNTIL), phase(before=UNTIL), Shared(machine=False))
    assert half(two[TEMP_UNTIL]) > half(rows_of(phase(before=UNTIL), phase(before=UNTIL))[TEMP_UNTIL])
    assert half(two[POWER_UNTIL]) > T8 * sqrt(2.0) * RUN_U * 50.0


def test_work_over_the_whole_phase_has_a_row_only_where_it_was_throttled():
    plain, held = phase(rate=100.0), phase(rate=80.0, whole_rate=90.0, sustained=True)
    assert WORK_WHOLE not in rows_of(plain, plain)
    rows = rows_of(plain, held)
    assert (rows[keys.WORK_RATE].after, rows[WORK_WHOLE].after, rows[WORK_WHOLE].unit) == (80.0, 90.0, "1/s")
    assert WORK_WHOLE not in rows_of(phase(sustained=True), phase())


def test_work_of_another_kind_is_not_subtracted():
    rows = rows_of(
        phase(rate=100.0, clock=1.0, scores=[(9.0, "pts")], sustained=True),
        phase(rate=100.0, clock=1.0, scores=[(9.0, "pts")]),
        Shared(machine=True, other_work=OTHER_KIND),
    )
    refused = {key for key, row in rows.items() if row.difference.why_not == OTHER_KIND}
    assert refused == {keys.WORK_RATE, WORK_WHOLE, "score pts"}


def test_scores_of_one_name_are_compared_the_last_of_each():
    rows = rows_of(phase(scores=[(1.0, "Pts"), (900.0, "pts")]), phase(scores=[(990.0, "PTS"), (5.0, "s")]))
    row = rows["score pts"]
    assert (row.before, row.after) == (900.0, 990.0)
    assert half(row) == pytest.approx(T8 * RUN_U * sqrt(900.0**2 + 990.0**2), rel=1e-4)
    assert score_of(phase(scores=[(1.0, "pts")]), "score s") is None


@pytest.mark.parametrize(("length_s", "is_refused"), [(610.0, False), (614.0, True)])
def test_energy_and_time_throttled_need_phases_of_one_length(length_s, is_refused):
    rows = rows_of(*[phase(energy=100.0, clock=1.0, power=10.0, held_s=9)] * 2, runs=(run(600.0), run(length_s)))
    refused = {key for key, row in rows.items() if row.difference.why_not == "the phases are not of one length"}
    assert refused == ({ENERGY, HELD} if is_refused else set())


def test_time_throttled_is_counted_and_not_measured():
    row = rows_of(phase(clock=1.0, held_s=60), phase(clock=1.0, held_s=90))[HELD]
    assert (row.is_counted, row.difference.value, row.difference.low) == (True, 30.0, None)
    assert HELD not in rows_of(phase(held_s=60), phase(held_s=60))  # without a clock nobody knows


def test_a_recording_and_itself_differ_in_nothing():
    rows = rows_of(*[phase(clock=3000.0, temp=70.0)] * 2, Shared(machine=True, itself=True))
    assert {
        (row.difference.value, row.difference.low, row.difference.high) for row in rows.values() if row.key != HELD
    } == {(0.0, 0.0, 0.0)}


def test_repeats_narrow_what_is_anew():
    """Three of each: t(12), and a third of the squares stays; what they scatter by is less than expected."""
    row = rows_of([phase(clock=3000.0)] * 3, [phase(clock=3000.0)] * 3)[keys.CLOCK]
    u = RUN_U * 3000.0 * sqrt(2.0 / 3.0 * 8.0 / 12.0)
    assert half(row) == pytest.approx(stats.t.ppf(0.975, 12) * u, rel=1e-4)
