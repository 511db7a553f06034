"""The second bench is what it says it is: seeded, with truth in every run, and a thermal network that can be reckoned."""

import math

import pytest

from tests.benchmarks.second_bench.bench import KINDS, make
from tests.benchmarks.second_bench.heat_kinds import HEAT_KINDS
from tests.benchmarks.second_bench.machine import Cooler, Temps

SEEDS = (1, 2)


@pytest.mark.parametrize("name", ["dropouts", "turbo", "load_steps"])
def test_the_same_seed_is_the_same_run_and_another_is_not(name):
    assert make(name, 3) == make(name, 3)
    assert make(name, 3).seen != make(name, 5).seen


@pytest.mark.parametrize("name", KINDS)
def test_truth_is_what_the_kind_says_and_lies_within_the_run(name):
    for seed in SEEDS:
        run = make(name, seed)
        assert {span.cause for span in run.truth} == {cause.value for cause in KINDS[name].causes}
        assert ("thermal" in {span.cause for span in run.truth}) is (name in HEAT_KINDS)
        for span in run.truth:
            assert 0.0 < span.start_s < span.end_s <= run.duration_s
            assert span.plateau_c is not None and 0.0 < span.plateau_c < 125.0


def test_samples_are_plain_numbers_in_order_of_time():
    run = make("dropouts", 1)
    times = [one.t_s for one in run.seen]
    assert times == sorted(set(times))
    values = [value for one in run.seen for value in (one.clock_mhz, one.power_w, one.temp_c, one.load_pct)]
    assert None in values
    assert {type(value) for value in [*values, *times]} == {float, type(None)}


def test_knowing_less_only_hides_values():
    run = make("turbo_then_heat", 1)
    assert run.observe()[-1].throttle_count > 0
    assert run.observe(("limits",))[-1].throttle_count is None
    assert run.observe(("limits",))[-1].temp_limit_c == run.seen[-1].temp_limit_c is not None
    least = run.observe(())[-1]
    assert (least.temp_limit_c, least.power_limit_w, least.throttle_count, least.work_rate) == (None,) * 4
    assert (least.clock_mhz, least.temp_c) == (run.seen[-1].clock_mhz, run.seen[-1].temp_c)


def test_the_network_settles_at_resistance_times_power():
    cooler = Cooler(0.3, 0.5, 0.2, die_j_per_k=3.0, sink_j_per_k=60.0, case_j_per_k=400.0)

    def settled(sink_factor: float) -> Temps:
        temps = Temps(20.0, 20.0, 20.0)
        for _ in range(20_000):
            temps = cooler.step(temps, 40.0, 20.0, sink_factor, 0.1)
        return temps

    # By hand: 20 °C + 40 W × (0.2, 0.2 + 0.5, 0.2 + 0.5 + 0.3) K/W; with half the fan 0.5 becomes 1.0 K/W.
    assert settled(1.0) == pytest.approx((60.0, 48.0, 28.0), abs=0.01)
    assert settled(2.0) == pytest.approx((80.0, 68.0, 28.0), abs=0.01)


def test_the_network_warms_with_the_time_constant_of_its_slowest_store():
    cooler = Cooler(0.01, 0.01, 1.0, die_j_per_k=10.0, sink_j_per_k=10.0, case_j_per_k=2000.0)
    temps = Temps(20.0, 20.0, 20.0)
    for _ in range(40_000):
        temps = cooler.step(temps, 10.0, 20.0, 1.0, 0.05)
    # By hand: after one time constant, 1 K/W × 2000 J/K, the rise is 10 W × 1 K/W × (1 − 1/e).
    assert temps.case_c - 20.0 == pytest.approx(10.0 * (1 - math.exp(-1)), rel=0.02)
