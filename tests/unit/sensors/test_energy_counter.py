"""Energy counters against the kernel's own numbers."""

import pytest

from benchmon.sensors.energy_counter import FIRST, EnergyCounter
from benchmon.sensors.number_file import NumberFile
from tests.support.sysfs import RANGE_ESU_14_UJ, RANGE_ESU_16_UJ

KERNEL_RANGES = [  # 2^32 · unit in whole nJ / 1000, kernel, drivers/powercap/intel_rapl_common.c, rapl_unit_xlate
    (61035, 262143328850),
    (15258, 65532610987),
    (15300, 65712999613),
    (30517, 131069516941),
    (122070, 524286657700),
]


class Bench:
    def __init__(self, tmp_path, range_uj=RANGE_ESU_14_UJ):
        self.path = tmp_path / "energy_uj"
        self.path.write_text("0")
        self.stopwatch_s = 0.0
        self.counter = EnergyCounter(NumberFile(str(self.path)), range_uj, lambda: self.stopwatch_s)

    def power_w(self, energy_uj, now_s):
        self.path.write_text(f"{energy_uj}\n")
        return self.counter.power_w(now_s, self.stopwatch_s)


@pytest.mark.parametrize(("unit_nj", "range_uj"), KERNEL_RANGES)
def test_the_builders_ranges_are_the_kernels(unit_nj, range_uj):
    assert (2**32 - 1) * unit_nj // 1000 == range_uj


def test_power_is_energy_over_time(tmp_path):
    bench = Bench(tmp_path)
    assert bench.power_w(1_000_000, 10.0) is None
    assert bench.counter.why == FIRST
    assert bench.power_w(66_000_000, 11.0) == pytest.approx(65.0)
    assert bench.power_w(83_500_000, 11.5) == pytest.approx(35.0)
    assert bench.counter.why == ""


def test_the_wrap_vector(tmp_path):
    """old 262143328000, new 1000000, range 262143328850: 1000850 µJ, or one unit of 61 µJ more (the counter's true modulus)."""
    bench = Bench(tmp_path)
    bench.power_w(262143328000, 0.0)
    assert bench.power_w(1_000_000, 1.0) == pytest.approx(1.000850, abs=62e-6)


def test_wraps_at_the_published_interval(tmp_path):
    """At 65 W and 61.035 µJ the counter goes round every 4033.0 s (2^32 · 61035 nJ / 65 W)."""
    bench = Bench(tmp_path)
    powers = []
    for second in range(0, 4100, 10):
        powers.append(bench.power_w(second * 65_000_000 % RANGE_ESU_14_UJ, float(second)))
    assert [power for power in powers[1:] if power != pytest.approx(65.0)] == []


def test_a_reset_is_not_a_wrap(tmp_path):
    bench = Bench(tmp_path)
    bench.power_w(5_000_000_000, 0.0)
    assert bench.power_w(1_000_000, 1.0) is None
    assert bench.counter.why == "counter was reset"
    assert bench.power_w(41_000_000, 2.0) == pytest.approx(40.0)


def test_a_jump_forward_is_no_power_either(tmp_path):
    bench = Bench(tmp_path)
    bench.power_w(0, 0.0)
    assert bench.power_w(5_000_000_000, 1.0) is None


def test_without_a_range_a_backward_step_gives_nothing(tmp_path):
    bench = Bench(tmp_path, range_uj=0)
    bench.power_w(5_000, 0.0)
    assert bench.power_w(4_000, 1.0) is None
    assert bench.power_w(30_004_000, 2.0) == pytest.approx(30.0)


def test_after_a_long_gap_the_number_of_rounds_is_unknown(tmp_path):
    bench = Bench(tmp_path, RANGE_ESU_16_UJ)
    bench.power_w(0, 0.0)
    assert bench.power_w(40_000_000, 3600.0) is None
    assert "more than once" in bench.counter.why


def test_the_moment_of_the_reading_counts_not_that_of_the_round(tmp_path):
    bench = Bench(tmp_path)
    bench.power_w(0, 0.0)
    bench.path.write_text("22000000")
    round_began_s = bench.stopwatch_s
    bench.stopwatch_s += 0.1  # the recorder was kept waiting for a tenth of a second before it could read
    assert bench.counter.power_w(1.0, round_began_s) == pytest.approx(20.0)


def test_no_time_no_power(tmp_path):
    bench = Bench(tmp_path)
    bench.power_w(0, 1.0)
    assert bench.power_w(10, 1.0) is None
