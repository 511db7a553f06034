"""One exponential against certified data; the joint model against vendors' thermal models and closed forms."""

from math import exp, inf

import numpy as np
import pytest
from scipy.optimize import nnls

from benchmon.analysis.fit.exponential import fit_exponential
from benchmon.analysis.fit.readings import Readings
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.thermal.machine import MODEL_U, MachineModel, figure_of

# NIST StRD: (y, x), model y = b1 (1 - exp(-b2 x))
MISRA1A = [
    (10.07, 77.6),
    (14.73, 114.9),
    (17.94, 141.1),
    (23.93, 190.8),
    (29.61, 239.9),
    (35.18, 289.0),
    (40.02, 332.8),
    (44.82, 378.4),
    (50.76, 434.8),
    (55.05, 477.3),
    (61.01, 536.8),
    (66.40, 593.1),
    (75.47, 689.1),
    (81.78, 760.0),
]
BOXBOD = [(109, 1), (149, 2), (149, 3), (191, 5), (213, 7), (224, 10)]

# Vishay R-C thermal model data sheets, junction to ambient: K/W and J/K of each stage.
# Si4952DY_RC (doc 74688, rev 09-May-07)
SI4952_FOSTER = [(6.7278, 347.8859e-6), (29.6140, 56.4091e-3), (25.9110, 6.7511e-3), (47.7472, 1.0972)]
SI4952_CAUER = [(10.1112, 598.8307e-6), (32.1645, 7.0365e-3), (25.8678, 77.6027e-3), (41.8565, 1.2885)]
# Si1012R_RC (doc 70428, rev 02-Apr-07)
SI1012_FOSTER = [(327.5464, 5.4668e-3), (123.5765, 181.9072e-6), (88.0766, 590.9914e-3), (293.8005, 2.1597e-3)]


def foster(stages, t_s):
    return sum(r * (1 - exp(-t_s / (r * c))) for r, c in stages)


ALL = Phase("all cores", 0.0, None, True)


def model_of(ends_s, values, watts=10.0, before_w=0.0, room=0.0, step=0.0, scatter=0.05):
    """The joint model through plain numbers; power constant, or one number for each reading."""
    ends, values = np.asarray(ends_s, float), np.asarray(values, float)
    lengths = np.diff(np.concatenate([[0.0], ends]))
    power = np.full(len(ends), float(watts)) if np.isscalar(watts) else np.asarray(watts, float)
    white = np.full(len(ends), scatter + step / 24**0.5)
    readings = Readings(
        ends, lengths, power, values, np.full(len(ends), room), white, before_w, step_k=step, room_walk_k=0.0
    )
    return MachineModel(readings)


def settles(model):
    return figure_of(model.settled(ALL).temp_c)


def test_misra1a_has_its_certified_values():
    """NIST StRD Misra1a."""
    fit = fit_exponential([x for _, x in MISRA1A], [y for y, _ in MISRA1A], from_zero=True)
    assert fit.settled == pytest.approx(2.3894212918e02, rel=1e-6)
    assert 1 / fit.time_s == pytest.approx(5.5015643181e-04, rel=1e-6)
    assert fit.residual == pytest.approx(1.2455138894e-01, rel=1e-6)
    assert fit.settled_u == pytest.approx(2.7070075241, rel=1e-4)
    assert fit.time_u / fit.time_s**2 == pytest.approx(7.2668688436e-06, rel=1e-4)


def test_boxbod_has_its_certified_values_and_no_start_can_lead_astray():
    """NIST StRD BoxBOD. From the start (1, 1) scipy's curve_fit silently gives b1 = 172.5, b2 = 110.9, RSS = 9771.5."""
    fit = fit_exponential([x for _, x in BOXBOD], [y for y, _ in BOXBOD], from_zero=True)
    assert fit.settled == pytest.approx(2.1380940889e02, rel=1e-6)
    assert 1 / fit.time_s == pytest.approx(5.4723748542e-01, rel=1e-5)
    assert fit.settled_u == pytest.approx(1.2354515176e01, rel=1e-4)
    assert fit.residual == pytest.approx(1.1680088766e03, rel=1e-8)


def test_readings_that_do_not_determine_an_exponential_give_none():
    times = [float(t) for t in range(30)]
    assert fit_exponential(times, [2.0 * t for t in times]) is None  # a straight line has no end
    assert fit_exponential([1.0, 2.0], [1.0, 2.0]) is None
    step = [0.0] + [10.0] * 29
    fit = fit_exponential(times, step)
    assert fit is None or fit.time_s < 1.0


@pytest.mark.parametrize(
    ("data", "scale_s", "truth", "scatter"),
    [(MISRA1A, 1.0, 238.94, 0.1019), (BOXBOD, 60.0, 213.81, 17.088)],
    ids=["Misra1a", "BoxBOD"],
)
def test_interval_of_the_joint_model_covers_the_certified_end(data, scale_s, truth, scatter):
    """NIST StRD: both are extrapolations (Misra1a to three times what was seen); the interval must be honest.

    Brought to the size of a rise, 50 K, because the model knows how large rises are; scatter: the certified residual SD.
    """
    scale = 50.0 / truth
    times = [scale_s * x for _, x in data]
    found = settles(model_of(times, [scale * y for y, _ in data], scatter=scale * scatter))
    assert found.low <= 50.0 <= found.high
    assert found.high - found.low < 90.0


@pytest.mark.parametrize("until_s", [60, 120, 240])
@pytest.mark.parametrize(
    ("stages", "watts"), [(SI4952_FOSTER, 0.5), (SI1012_FOSTER, 0.06)], ids=["Si4952DY", "Si1012R"]
)
def test_published_step_responses_are_covered(stages, watts, until_s):
    """Step responses of Vishay's thermal models: four time constants over five decades."""
    times = np.arange(2.0, until_s, 2.0)
    found = settles(model_of(times, [watts * foster(stages, t) for t in times], watts=watts))
    assert found.low <= watts * sum(r for r, _ in stages) <= found.high


def test_foster_and_cauer_of_one_device_agree():
    """Vishay Si4952DY_RC: both forms, solved here by the virtual bench's cooler, within 1.5 % from 0.1 s on."""
    from benchmon.virtual_bench.cooler import Cooler, Stage

    cooler = Cooler([Stage(r, c) for r, c in SI4952_CAUER], 0.0)
    t_s = 0.0
    for until_s, printed in ((1.0, 47.1323), (10.0, 71.4802), (100.0, 101.9664)):
        while t_s < until_s - 1e-9:
            step = 0.001 if t_s < 1.0 - 1e-9 else 0.01
            cooler.step(1.0, 0.0, step)
            t_s += step
        assert cooler.temps_c[0] == pytest.approx(printed, rel=0.005)
        assert cooler.temps_c[0] == pytest.approx(foster(SI4952_FOSTER, until_s), rel=0.015)


def test_whole_degrees_settle_within_a_degree_of_an_independent_fit():
    """scipy's non-negative least squares on a fine grid of time constants, as reference library."""
    times = np.arange(3.0, 600.0, 3.0)
    true = 30.0 + np.array([40 - 10 * exp(-t / 4) - 28 * exp(-t / 90) - 2 * exp(-t / 200) for t in times])
    found = settles(model_of(times, np.round(true), room=30.0, step=1.0))
    taus = np.geomspace(2, 400, 30)
    matrix = np.column_stack([np.ones(len(times)), *[1 - np.exp(-times / tau) for tau in taus]])
    parts, _ = nnls(matrix, np.round(true))
    assert found.low <= parts.sum() <= found.high
    assert found.low <= 70.0 <= found.high


def test_a_longer_look_narrows_the_interval():
    widths = []
    for until_s in (120, 300, 1200, 3600):
        times = until_s * (np.arange(100) + 1.0) / 100
        found = settles(
            model_of(times, [46 - 12 * exp(-t / 5) - 26 * exp(-t / 90) - 8 * exp(-t / 1000) for t in times])
        )
        assert found.low <= 46 <= found.high
        widths.append(found.high - found.low)
    assert widths == sorted(widths, reverse=True)


def two_steps(exponent=0.0, low_c=inf, ratio=1.0, room=25.0, until_s=4 * 3600.0, step_s=20.0):
    """A linear die and one sink whose cooling follows a law, run at three powers to the end of each: noise-free."""
    times, temps, watts = [], [], []
    sink, t, reading = 0.0, 0.0, room
    capacity = 200.0
    for power in (6.0, 14.0, 28.0):
        begin = t
        while t < begin + until_s / 3:
            for _ in range(int(step_s / 0.5)):
                fan = ratio if reading > low_c else 1.0
                draught = max(sink / 30.0, 1e-3) ** exponent
                sink += 0.5 * (power - sink * draught * fan / 1.5) / capacity
                reading = room + sink + 0.3 * power
            t += step_s
            times.append(t)
            temps.append(reading)
            watts.append(power)
    return np.array(times), np.array(temps), np.array(watts)


def test_a_linear_foster_network_is_exact():
    """Closed form: R = 0.3 + 1.5 K/W; settled temperature, resistance and capacity follow, seen to their end."""
    times, temps, watts = two_steps()
    model = model_of(times, temps, watts, room=25.0)
    end = Phase("end", 2 * 4800.0, None, True)
    found = model.settled(end)
    assert figure_of(found.temp_c).value == pytest.approx(25.0 + 28.0 * 1.8, abs=0.35)
    assert figure_of(found.rise_k / found.power_w).value == pytest.approx(1.8, rel=0.01)
    capacity = figure_of(model.capacity(95.0, 25.0))
    assert capacity.low <= 70.0 / 1.8 <= capacity.high
    assert capacity.value == pytest.approx(70.0 / 1.8, rel=0.03)


def exponent_of(model, low_w=10.0, high_w=40.0):
    """How the sink's resistance goes with its rise: the slope of the logarithms, for each machine."""
    rises = [model.rise_at(w, 25.0) - model.found.own_k - 0.3 * w for w in (low_w, high_w)]
    resistances = [rise / w for rise, w in zip(rises, (low_w, high_w))]
    return -np.log(resistances[1] / resistances[0]) / np.log(np.maximum(rises[1], 1e-3) / np.maximum(rises[0], 1e-3))


def test_exponent_of_natural_convection_is_recovered():
    """Nu ∝ Ra^(1/4) for a laminar boundary layer at a vertical plate (handbooks; from memory): R ∝ ΔT^(-1/4)."""
    times, temps, watts = two_steps(exponent=0.25)
    found = figure_of(exponent_of(model_of(times, temps, watts, room=25.0)))
    assert found.low <= 0.25 <= found.high
    assert found.value > 0.12
    straight = figure_of(exponent_of(model_of(*two_steps(), room=25.0)))
    assert straight.low <= 0.0 <= straight.high


def test_a_faster_fan_is_recovered():
    """Nu ∝ Re^0.8 for turbulent forced flow (handbooks; from memory): at 1.8 times the speed R falls to 1.8^-0.8."""
    ratio = 1.8**0.8
    times, temps, watts = two_steps(low_c=52.0, ratio=ratio)
    model = model_of(times, temps, watts, room=25.0)
    slow, fast = (model.rise_at(w, 25.0) - model.found.own_k - 0.3 * w for w in (14.0, 28.0))
    found = figure_of((slow / 14.0) / (fast / 28.0))
    doubt = 1.0 + 2.0 * MODEL_U * 2.0**0.5  # of two rises, which every figure carries besides
    assert found.low / doubt <= ratio <= found.high * doubt
    assert found.low > 1.1
