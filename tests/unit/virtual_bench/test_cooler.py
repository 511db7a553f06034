"""The thermal network against published step responses, an exact solution, and the conservation of energy."""

import math

import numpy as np
import pytest
from scipy.linalg import expm

from benchmon.virtual_bench.cooler import Cooler, FanSpec, Stage

# Vishay, R-C thermal model data sheets: Si4952DY (document 74688, rev. 09-May-07), junction to ambient and to foot, and
# Si1012R (document 70428, rev. 02-Apr-07), junction to ambient. Resistances in K/W, capacities in J/K.
SI4952DY_AMBIENT = {
    "foster": ((6.7278, 347.8859e-6), (29.6140, 56.4091e-3), (25.9110, 6.7511e-3), (47.7472, 1.0972)),
    "cauer": ((10.1112, 598.8307e-6), (32.1645, 7.0365e-3), (25.8678, 77.6027e-3), (41.8565, 1.2885)),
}
SI4952DY_FOOT = {
    "foster": ((11.6583, 2.2210e-3), (3.6731, 170.7109e-6), (8.9996, 180.0765e-6), (19.6690, 11.0677e-3)),
    "cauer": ((6.2766, 223.8922e-6), (20.6392, 2.6660e-3), (14.5542, 29.6184e-3), (2.5300, 919.3445e-3)),
}
SI1012R_AMBIENT = {
    "foster": ((327.5464, 5.4668e-3), (123.5765, 181.9072e-6), (88.0766, 590.9914e-6), (293.8005, 2.1597e-3)),
    "cauer": ((107.6550, 126.6167e-6), (207.6868, 705.9637e-6), (426.5449, 1.9033e-3), (91.1133, 489.9999e-3)),
}


def rises(pairs, times_s, room_c=25.0, steps_per_time=400):
    """Rise of the first stage for 1 W at each time, in small equal steps from one time to the next."""
    cooler, t_s, found = Cooler([Stage(*pair) for pair in pairs], room_c), 0.0, []
    for until_s in times_s:
        dt_s = (until_s - t_s) / steps_per_time
        for _ in range(steps_per_time):
            cooler.step(1.0, room_c, dt_s)
        t_s = until_s
        found.append(cooler.temps_c[0] - room_c)
    return found


def foster_rise(pairs, t_s):
    return sum(r * (1.0 - math.exp(-t_s / (r * c))) for r, c in pairs)


def test_step_response_of_a_published_chain():
    """Values recomputed from the published Cauer elements of Si4952DY, junction to ambient."""
    published = {0.1: 19.8242, 1.0: 47.1323, 10.0: 71.4802, 100.0: 101.9664, 1000.0: 110.0}
    for found, wanted in zip(rises(SI4952DY_AMBIENT["cauer"], published), published.values(), strict=True):
        assert found == pytest.approx(wanted, rel=0.004)


def test_the_vendors_two_forms_agree():
    """The data sheet gives the path as Foster sum and as Cauer chain, fitted separately: within 1.5 % from 0.1 s on."""
    times_s = (0.1, 1.0, 10.0, 100.0, 1000.0)
    for t_s, found in zip(times_s, rises(SI4952DY_AMBIENT["cauer"], times_s), strict=True):
        assert found == pytest.approx(foster_rise(SI4952DY_AMBIENT["foster"], t_s), rel=0.015)


@pytest.mark.parametrize(
    ("model", "k_per_w"), [(SI4952DY_AMBIENT, 110.0), (SI4952DY_FOOT, 44.0), (SI1012R_AMBIENT, 833.0)]
)
def test_steady_state_of_published_chains(model, k_per_w):
    """Sums printed in the data sheets; the chain gets there from nothing."""
    assert rises(model["cauer"], (10.0, 1e3, 1e5))[-1] == pytest.approx(k_per_w, abs=1e-3)
    assert foster_rise(model["foster"], 1e5) == pytest.approx(k_per_w, abs=1e-3)


def test_against_the_exact_solution():
    """scipy's matrix exponential as reference, for the stages of a small machine and its usual step of 0.1 s."""
    stages = [Stage(0.5, 5.0), Stage(0.9, 120.0), Stage(0.3, 3000.0)]
    r, c = [s.resistance_k_per_w for s in stages], [s.capacity_j_per_k for s in stages]
    a = np.array([
        [-1 / r[0] / c[0], 1 / r[0] / c[0], 0, 1 / c[0]],
        [1 / r[0] / c[1], -(1 / r[0] + 1 / r[1]) / c[1], 1 / r[1] / c[1], 0],
        [0, 1 / r[1] / c[2], -(1 / r[1] + 1 / r[2]) / c[2], 0],
        [0, 0, 0, 0],
    ])  # fmt: skip
    cooler = Cooler(stages, 0.0)
    for step in range(1, 6001):
        cooler.step(40.0, 0.0, 0.1)
        if step in {20, 100, 1000, 6000}:
            exact = (expm(a * step * 0.1) @ np.array([0, 0, 0, 40.0]))[:3]
            assert cooler.temps_c == pytest.approx(exact, abs=0.15)


def test_steady_state_is_the_sum_of_resistances():
    cooler = Cooler([Stage(0.5, 5.0), Stage(0.9, 120.0), Stage(0.3, 900.0)], 24.0)
    for _ in range(2000):
        cooler.step(30.0, 24.0, 10.0)
    assert cooler.temps_c[0] == pytest.approx(24.0 + 30.0 * 1.7, abs=1e-6)
    assert cooler.resistance_k_per_w == pytest.approx(1.7)
    settled = Cooler(cooler.stages, 24.0)
    settled.settle(30.0, 24.0)
    assert settled.temps_c == pytest.approx(cooler.temps_c, abs=1e-6)


def test_energy_is_conserved():
    cooler = Cooler([Stage(0.5, 5.0), Stage(0.9, 120.0), Stage(0.2, 90.0), Stage(0.3, 900.0)], 24.0)
    before, put_in = cooler.stored_j, 0.0
    for step in range(5000):
        power_w, dt_s = 20.0 + 15.0 * math.sin(step / 50), 0.1 if step % 3 else 0.07
        cooler.stretch(1, 1.0 + (step // 1000) * 0.2)
        cooler.step(power_w, 24.0 + step / 1000, dt_s)
        put_in += power_w * dt_s
    assert cooler.stored_j - before + cooler.heat_to_room_j == pytest.approx(put_in, rel=1e-9)


def test_any_step_is_stable():
    cooler = Cooler([Stage(0.5, 1e-4), Stage(0.9, 120.0)], 24.0)
    cooler.step(30.0, 24.0, 1e6)
    assert cooler.temps_c[0] == pytest.approx(24.0 + 42.0, abs=0.1)


def test_a_fan_that_slows_makes_the_heatsink_worse_down_to_still_air():
    fan = FanSpec(low_rpm=1000.0, full_rpm=3000.0, still_factor=3.0, exponent=0.6)
    factors = [fan.factor(rpm) for rpm in (3000.0, 2000.0, 1000.0, 300.0, 0.0)]
    assert factors[0] == 1.0
    assert factors == sorted(factors)
    assert factors[-1] == factors[-2] == 3.0


def test_a_fan_follows_the_temperature_until_it_fails():
    fan = FanSpec(low_rpm=1000.0, full_rpm=3000.0, low_until_c=50.0, full_from_c=80.0, fails_at_s=100.0)
    assert fan.wanted_rpm(40.0, 0.0) == 1000.0
    assert fan.wanted_rpm(65.0, 0.0) == 2000.0
    assert fan.wanted_rpm(95.0, 0.0) == 3000.0
    assert fan.wanted_rpm(95.0, 100.0) == 0.0
