"""Every kind of run is what it says it is. ``python -m tests.benchmarks.bench_truth`` looks at many more seeds."""

import pytest

from benchmon.model import keys
from benchmon.virtual_bench.heat_limits import HeatLimit
from tests.benchmarks.first_bench.run import LIMITS
from tests.benchmarks.first_bench.scenarios import KINDS, observe

SEED = 1
HEAT = [name for name, kind in KINDS.items() if kind.is_heat]
OTHERS = [name for name, kind in KINDS.items() if not kind.is_heat]

CAUSES = {
    "turbo_expiry": {"power_limit"},
    "turbo_again": {"power_limit"},
    "short_term_limit": {"power_limit"},
    "power_limit_near_trip": {"power_limit"},
    "outside_signal_cold": {"outside"},
    "outside_signal_hot": {"outside"},
    "outside_pulses": {"outside"},
    "user_cap_cold": {"outside"},
    "user_cap_hot": {"outside"},
    "platform_cap": {"outside"},
    "skin_limit": {"unexplained"},
}
"""Lookalikes in which something else limits; in all others nothing does."""


def test_there_are_enough_kinds_and_each_says_what_it_is():
    assert len(KINDS) >= 38
    assert min(len(HEAT), len(OTHERS)) >= 16
    assert all(kind.words.endswith(".") and kind.name == name for name, kind in KINDS.items())


@pytest.mark.parametrize("name", HEAT)
def test_heat_is_heat(name):
    run = KINDS[name].make(SEED)
    assert "thermal" in {event.cause for event in run.truth}
    trip_c = next(limit.trip_c for limit in run.box.limits if isinstance(limit, HeatLimit))
    for event in run.truth:
        assert 0.0 < event.start_s < (event.end_s or run.duration_s) <= run.duration_s
        if event.cause == "thermal":
            assert event.plateau_c is not None
            assert event.plateau_c <= trip_c + 8.0


@pytest.mark.parametrize("name", OTHERS)
def test_lookalikes_are_never_heat(name):
    assert {event.cause for event in KINDS[name].make(SEED).truth} == CAUSES.get(name, set())


def test_the_same_seed_is_the_same_run_and_another_is_not():
    def rows(seed):
        return list(observe(KINDS["dropouts"].make(seed)))

    assert rows(3) == rows(3)
    assert rows(3) != rows(4)


def test_seeds_differ_widely():
    runs = [KINDS["slow_glide"].make(seed) for seed in range(12)]
    assert len({run.period_s for run in runs}) >= 4
    assert len({run.box.spec.cores for run in runs}) >= 4
    assert max(run.box.spec.room_c for run in runs) - min(run.box.spec.room_c for run in runs) > 8.0
    assert all(180.0 <= run.duration_s <= 1500.0 for run in runs)


def test_knowing_less_only_hides_columns():
    run = KINDS["turbo_then_heat"].make(1)
    full, limits, nothing = (list(observe(run, knows)) for knows in (("limits", "counter"), ("limits",), ()))
    assert len(full) == len(limits) == len(nothing)
    for (t_s, all_of_it), (_, some), (same_t_s, least) in zip(full, limits, nothing, strict=True):
        assert t_s == same_t_s
        assert least.items() <= some.items() <= all_of_it.items()
    assert keys.CORE_THROTTLE_COUNT in full[0][1]
    assert keys.CORE_THROTTLE_COUNT not in limits[0][1]
    assert {keys.TEMP_LIMIT, keys.POWER_LIMIT_LONG} <= limits[0][1].keys()
    assert not LIMITS & nothing[0][1].keys()


def test_what_goes_wrong_goes_wrong_in_the_samples_only():
    run = KINDS["dropouts"].make(2)
    times = [t_s for t_s, _ in run.rows]
    assert any(None in values.values() for _, values in run.rows)
    assert times == sorted(set(times))
    assert "thermal" in {event.cause for event in run.truth}


def test_power_from_the_counter_is_the_power_that_was_drawn():
    run = KINDS["steady"].make(1)
    watts = [values[keys.PACKAGE_POWER] for _, values in run.rows]
    assert sum(watts) * run.period_s == pytest.approx(run.box.energy.joules, rel=0.01)
