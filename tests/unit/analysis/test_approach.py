"""Exponential approach: certified data, vendors' thermal models, and what a bad start must not do."""

from math import exp, sqrt

import pytest
from scipy.optimize import nnls

from benchmon.analysis.fit.approach import Expectation, approaches, learn
from benchmon.analysis.fit.exponential import fit_exponential

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


def estimate(times, values, expected=Expectation()):
    ways = approaches(times, values, expected)
    mean = sum(way.weight * way.settled for way in ways)
    return mean, sqrt(sum(way.weight * (way.settled - mean) ** 2 for way in ways))


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
    ("data", "scale_s", "truth"), [(MISRA1A, 1.0, 238.94), (BOXBOD, 60.0, 213.81)], ids=["Misra1a", "BoxBOD"]
)
def test_interval_of_the_many_time_constants_covers_the_certified_end(data, scale_s, truth):
    """NIST StRD: both are extrapolations (Misra1a to three times what was seen); the interval must be honest."""
    times = [0.0] + [scale_s * x for _, x in data]
    settled, u = estimate(times, [0.0] + [float(y) for y, _ in data])
    assert abs(settled - truth) <= 1.96 * u
    assert u < 0.35 * truth


@pytest.mark.parametrize("until_s", [60, 120, 240])
@pytest.mark.parametrize(
    ("stages", "watts"), [(SI4952_FOSTER, 0.5), (SI1012_FOSTER, 0.06)], ids=["Si4952DY", "Si1012R"]
)
def test_published_step_responses_are_covered(stages, watts, until_s):
    """Step responses of Vishay's thermal models: four time constants over five decades."""
    times = [t + 0.5 for t in range(2, until_s)]
    values = [watts * foster(stages, t) for t in times]
    settled, u = estimate(times, values)
    truth = watts * sum(r for r, _ in stages)
    assert abs(settled - truth) <= 1.96 * sqrt(u**2 + 0.25**2) + 0.25 * abs(settled - values[-1])


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
    np = pytest.importorskip("numpy")
    times = [t + 0.5 for t in range(600)]
    true = [70 - 10 * exp(-t / 4) - 20 * exp(-t / 90) - 2 * exp(-t / 200) for t in times]
    settled, u = estimate(times, [float(round(value)) for value in true], Expectation(resolution=1.0))
    taus = np.geomspace(2, 400, 30)
    matrix = np.column_stack([np.ones(600), *[1 - np.exp(-np.array(times) / tau) for tau in taus]])
    parts, _ = nnls(matrix, np.array([round(value) for value in true], float))
    assert abs(settled - parts.sum()) < 1.96 * u + 0.6
    assert abs(settled - 70) < 1.96 * u + 0.5


def test_a_longer_look_narrows_the_interval():
    widths = []
    for until_s in (90, 300, 1200, 3600):
        times = [until_s * (k + 0.5) / 200 for k in range(200)]
        values = [70 - 12 * exp(-t / 5) - 22 * exp(-t / 90) - 6 * exp(-t / 1000) for t in times]
        settled, u = estimate(times, values)
        assert abs(settled - 70) < 2.5 * u + 0.3
        widths.append(u)
    assert widths == sorted(widths, reverse=True)


def test_what_one_phase_teaches_narrows_the_next():
    times = [2 + 3.0 * k for k in range(200)]
    first = approaches(
        times, [50 - 6 * exp(-t / 5) - 12 * exp(-t / 100) - 3 * exp(-t / 900) for t in times], Expectation()
    )
    early = [2 + 0.5 * k for k in range(200)]
    values = [71 - 6 * exp(-t / 5) - 12 * exp(-t / 100) - 3 * exp(-t / 900) for t in early]
    taught = Expectation(known=learn(first, 10.0), step_w=10.0)
    alone, with_lesson = estimate(early, values), estimate(early, values, taught)
    assert with_lesson[1] < alone[1]
    assert abs(with_lesson[0] - 71) < 1.96 * with_lesson[1]


def test_too_few_readings_say_nothing():
    assert approaches([1.0, 2.0, 3.0], [1.0, 2.0, 3.0], Expectation()) == ()
