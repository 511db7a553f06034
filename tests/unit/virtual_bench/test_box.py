"""A whole virtual machine: the same for the same seed, and settled where its network says."""

from dataclasses import replace

import pytest

from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.demo import CHIP, DEFENDED_C, DEMO_STEPS, TOLD_LIMIT_C, demo_box
from benchmon.virtual_bench.firmware import Cap, OutsideSignal
from benchmon.virtual_bench.heat_limits import Glide, Modulation
from benchmon.virtual_bench.meters import ENERGY_UNIT_UJ, MeterSpec
from benchmon.virtual_bench.spec import BoxSpec
from tests.benchmarks.first_bench.reference import Reference

QUIET = MeterSpec(temp_step_c=0.125, temp_noise_c=0.0, temp_refresh_s=0.0, clock_noise=0.0, power_noise=0.0)


def settled(box, busy, hours=12):
    box.set_load(busy)
    for _ in range(hours * 360):
        box.leap(10.0)
    return box


def test_the_same_seed_gives_the_same_readings():
    def story(seed):
        box = demo_box(1)
        box.rng.seed(seed)
        readings = []
        for busy in (0, 4, 1):
            box.set_load(busy)
            for _ in range(20):
                box.step(0.7)
                readings.append(box.readings())
        return readings

    assert story(5) == story(5)
    assert story(5) != story(6)


@pytest.mark.parametrize("busy", [0, 1, 2, 4])
def test_it_settles_where_its_network_says(busy):
    box = settled(VirtualBox(BoxSpec(meters=QUIET), 1), busy)
    assert box.hot_c == pytest.approx(Reference(box.spec).settled_temp_c(busy), abs=0.05)
    assert box.power_w == pytest.approx(Reference(box.spec).settled_power_w(busy), rel=0.002)


def test_a_held_temperature_takes_the_capacity_at_it():
    box = settled(VirtualBox(BoxSpec(meters=QUIET), 1, [Glide(65.0, 5.0, 5.0)]), 4)
    for _ in range(3000):
        box.step(1.0)
    assert box.hot_c == pytest.approx(65.0, abs=0.2)
    assert box.power_w == pytest.approx(Reference(box.spec).capacity_w(65.0), rel=0.01)


def test_steady_resistance_is_the_sum_of_the_chain_and_the_spot():
    """By hand: 30 W floor-free chip on 0.5 + 0.9 + 0.3 K/W with a fan at full speed."""
    spec = BoxSpec(fan=replace(BoxSpec().fan, low_rpm=3200.0), spread_k_per_w=0.0)
    assert Reference(spec).resistance_k_per_w(4) == pytest.approx(1.7, abs=1e-9)
    assert Reference(spec).capacity_w(24.0 + 34.0) == pytest.approx(20.0)


def test_one_core_heats_the_reading_more_for_each_watt():
    reference = Reference(BoxSpec())
    assert reference.resistance_k_per_w(1) > reference.resistance_k_per_w(2) > reference.resistance_k_per_w(4)


def test_a_warmer_room_is_felt_one_to_one_without_leakage_or_fan():
    fan = replace(BoxSpec().fan, low_rpm=3200.0)
    spec = BoxSpec(fan=fan, chip=replace(BoxSpec().chip, leak_w=0.0))
    warmer = Reference(spec, room_c=34.0).settled_temp_c(4) - Reference(spec, room_c=24.0).settled_temp_c(4)
    assert warmer == pytest.approx(10.0, abs=1e-6)


def test_leakage_grows_with_temperature():
    chip = BoxSpec().chip
    assert chip.leakage_w(2400.0, 105.0) == pytest.approx(chip.leakage_w(2400.0, 60.0) * 2.718281828, rel=1e-6)


def test_energy_and_power_tell_the_same():
    box = VirtualBox(BoxSpec(meters=QUIET), 1)
    box.set_load(4)
    joules, first = 0.0, box.readings().energy_uj
    for _ in range(400):
        box.step(0.1)
        joules += box.power_w * 0.1
    shown = (box.readings().energy_uj - first) % QUIET.energy_range_uj
    assert shown * 1e-6 == pytest.approx(joules, abs=2 * 0.001 * 45.0)


def test_the_energy_counter_wraps_at_its_range():
    meters = replace(QUIET, energy_start=1.0 - 50e6 / QUIET.energy_range_uj)
    box = VirtualBox(BoxSpec(meters=meters), 1)
    before = box.readings().energy_uj
    box.set_load(4)
    box.step(10.0)
    after = box.readings().energy_uj
    assert after < before < meters.energy_range_uj
    assert ((after - before) % meters.energy_range_uj) * 1e-6 == pytest.approx(box.energy.joules, abs=0.1)
    assert before % ENERGY_UNIT_UJ == pytest.approx(0.0, abs=1.0) or ENERGY_UNIT_UJ - before % ENERGY_UNIT_UJ < 1.0


@pytest.mark.parametrize("step_c", [1.0, 0.125, 0.5])
def test_readings_come_in_the_sensors_steps(step_c):
    box = VirtualBox(BoxSpec(meters=MeterSpec(temp_step_c=step_c, temp_refresh_s=0.0)), 1)
    box.set_load(4)
    for _ in range(50):
        box.step(0.3)
        assert box.readings().temp_c % step_c == 0.0


def test_a_slow_sensor_repeats_itself_within_a_second():
    box = VirtualBox(BoxSpec(meters=MeterSpec(temp_step_c=0.125, temp_noise_c=0.4, temp_refresh_s=1.0)), 1)
    box.set_load(4)
    shown = []
    for _ in range(300):
        box.step(0.1)
        shown.append(box.readings().temp_c)
    changes = sum(new != old for new, old in zip(shown[1:], shown, strict=False))
    assert 20 <= changes <= 31


def test_modulation_leaves_the_clock_reading_and_takes_work_and_power():
    def pace(limits):
        box = settled(VirtualBox(BoxSpec(meters=QUIET), 1, limits), 4, hours=3)
        box.step(60.0)
        before = box.work_units
        box.step(60.0)
        return box.readings().clock_mhz[0], box.work_units - before, box.power_w

    free, held = pace([]), pace([Modulation(60.0, 1.0)])
    assert held[0] == free[0] == 2400.0
    assert held[1] < 0.9 * free[1]
    assert held[2] < 0.9 * free[2]


def test_a_signal_from_outside_clamps_a_cold_machine_to_its_floor():
    box = VirtualBox(BoxSpec(meters=QUIET), 1, [OutsideSignal(((10.0, 20.0),))])
    box.set_load(4)
    box.step(15.0)
    assert box.clock_mhz == 800.0
    box.step(10.0)
    assert box.clock_mhz == 2400.0
    assert [(round(e.start_s), round(e.end_s), e.cause) for e in box.truth] == [(10, 20, "outside")]


def test_caps_show_where_the_kernel_shows_them():
    box = VirtualBox(BoxSpec(), 1, [Cap(((0.0, 10.0, 1500.0),)), Cap(((0.0, 99.0, 1800.0),), by_platform=True)])
    box.set_load(4)
    box.step(5.0)
    assert (box.readings().clock_cap_mhz, box.readings().platform_cap_mhz, box.clock_mhz) == (1500.0, 1800.0, 1500.0)
    box.step(10.0)
    assert (box.readings().clock_cap_mhz, box.clock_mhz) == (2700.0, 1800.0)


def test_fewer_busy_cores_get_higher_bins_and_nobody_calls_it_a_limit():
    box = VirtualBox(BoxSpec(meters=QUIET), 1)
    clocks = []
    for busy in (1, 2, 4):
        box.set_load(busy)
        box.step(20.0)
        clocks.append(box.clock_mhz)
    assert clocks == [2700.0, 2600.0, 2400.0]
    assert box.truth == []


def test_an_easing_governor_takes_the_clock_down_and_keeps_the_load_up():
    box = VirtualBox(BoxSpec(meters=QUIET, governor="schedutil"), 1)
    box.set_load(4, share=0.5)
    box.step(5.0)
    assert box.clock_mhz == pytest.approx(0.625 * 2400.0)
    assert box.readings().load_pct[0] == pytest.approx(80.0)


def test_work_follows_the_effective_clock():
    box = VirtualBox(BoxSpec(meters=QUIET), 1)
    box.set_load(2)
    box.step(10.0)
    assert box.work_units == pytest.approx(2 * 2.6 * 10.0 * 40.0)


@pytest.mark.parametrize(
    ("chapter", "held_mhz", "held_w", "sets_in_s"),
    [("bought", 2735.0, 38.9, (60.0, 180.0)), ("warm", 3190.0, 46.5, (60.0, 180.0)), ("duct", None, None, None)],
)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_demo_goes_as_its_story_says(seed, chapter, held_mhz, held_w, sets_in_s):
    """Against the network's own balance at the defended temperature, whatever limit is told."""
    box = demo_box(seed, chapter)
    free_mhz = CHIP.free_mhz(CHIP.cores, 1.0)
    begin = {}
    for name, seconds, busy in DEMO_STEPS:
        begin[name] = box.t_s
        box.set_load(busy)
        if name == "all cores":
            box.step(20.0)
            assert box.clock_mhz == free_mhz
            box.step(seconds - 21.0)
            assert box.clock_mhz == pytest.approx(held_mhz or free_mhz, abs=100.0)
            seconds = 1.0
        box.step(seconds)
    assert box.temp_limit_c == TOLD_LIMIT_C
    assert TOLD_LIMIT_C - DEFENDED_C > 10
    if held_w is None:
        assert box.truth == []
        assert Reference(box.spec).settled_temp_c(CHIP.cores) < DEFENDED_C - 3
        return
    (event,) = box.truth
    assert event.cause == "thermal"
    assert sets_in_s[0] <= event.start_s - begin["all cores"] <= sets_in_s[1]
    assert event.end_s == pytest.approx(begin["cool-down"], abs=0.2)
    assert event.plateau_c == pytest.approx(DEFENDED_C, abs=0.5)
    assert Reference(box.spec).capacity_w(DEFENDED_C) == pytest.approx(held_w, abs=1.0)
