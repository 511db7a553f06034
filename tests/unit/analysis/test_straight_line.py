"""Lines against certified, published and library values."""

import random
from math import sqrt

import pytest
from scipy import stats

from benchmon.analysis.fit.straight_line import RunningLine, plain_line, weighted_line, york_line
from benchmon.analysis.thermal.supply_floor import least_efficiency

# NIST StRD, Norris.dat: (y, x)
NORRIS = [
    (0.1, 0.2),
    (338.8, 337.4),
    (118.1, 118.2),
    (888.0, 884.6),
    (9.2, 10.1),
    (228.1, 226.5),
    (668.5, 666.3),
    (998.5, 996.3),
    (449.1, 448.6),
    (778.9, 777.0),
    (559.2, 558.2),
    (0.3, 0.4),
    (0.1, 0.6),
    (778.1, 775.5),
    (668.8, 666.9),
    (339.3, 338.0),
    (448.9, 447.5),
    (10.8, 11.6),
    (557.7, 556.0),
    (228.3, 228.1),
    (998.0, 995.8),
    (888.8, 887.6),
    (119.6, 120.2),
    (0.3, 0.3),
    (0.6, 0.3),
    (557.6, 556.8),
    (339.3, 339.1),
    (888.0, 887.2),
    (998.5, 999.0),
    (778.9, 779.0),
    (10.2, 11.1),
    (117.6, 118.3),
    (228.9, 229.2),
    (668.4, 669.1),
    (449.2, 448.9),
    (0.2, 0.5),
]

# JCGM 100:2008 (GUM) H.3, table H.6, as given in MSLNZ/GTC docs/API/GUM_H3.rst
GUM_T = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
GUM_B = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]

# Pearson's data with York's weights (Ogren & Norton, J. Chem. Educ. 69 (1992) 4)
PEARSON_X = [0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
PEARSON_Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]
YORK_WX = [1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1]
YORK_WY = [1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500]


def test_norris_has_its_certified_values():
    """NIST StRD Norris."""
    line = plain_line([x for _, x in NORRIS], [y for y, _ in NORRIS])
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.intercept_u == pytest.approx(0.232818234301152, rel=1e-10)
    assert line.slope_u == pytest.approx(0.429796848199937e-03, rel=1e-10)
    assert line.chi_square == pytest.approx(26.6173985294224, rel=1e-9)
    # Constant quoted in GSL's gsl_fit_linear tests
    assert line.covariance == pytest.approx(-7.74327536339570e-05, rel=1e-9)


def test_thermometer_calibration_of_the_gum():
    """JCGM 100:2008, H.3."""
    line = plain_line([t - 20 for t in GUM_T], GUM_B)
    assert (round(line.intercept, 4), round(line.intercept_u, 4)) == (-0.1712, 0.0029)
    assert (round(line.slope, 5), round(line.slope_u, 5)) == (0.00218, 0.00067)
    assert line.covariance / (line.intercept_u * line.slope_u) == pytest.approx(-0.930, abs=5e-4)
    assert round(line.at(10), 4) == -0.1494
    assert round(line.u_at(10), 4) == 0.0041


def test_ignoring_the_correlation_gives_the_wrong_doubt():
    """GUM H.3.5 as a negative test: without covariance u(30 °C) would be 76 % too large (recomputed: 0.0073)."""
    line = plain_line([t - 20 for t in GUM_T], GUM_B)
    naive = sqrt(line.intercept_u**2 + (10 * line.slope_u) ** 2)
    assert naive == pytest.approx(0.0072729, rel=1e-4)
    assert line.u_at(10) < 0.6 * naive


def test_prediction_does_not_depend_on_where_x_is_counted_from():
    """GUM H.3.5: with t0 = mean(t) the coefficients do not correlate and the prediction is the same."""
    mean = sum(GUM_T) / len(GUM_T)
    line = plain_line([t - mean for t in GUM_T], GUM_B)
    assert line.covariance == pytest.approx(0.0, abs=1e-12)
    assert line.u_at(30 - mean) == pytest.approx(0.004138595752854942, rel=1e-9)


def test_york_finds_the_line_of_pearsons_data():
    """Ogren & Norton 1992; uncertainties York et al. 2004, as in the R package bfsl."""
    line = york_line(PEARSON_X, PEARSON_Y, [1 / sqrt(w) for w in YORK_WX], [1 / sqrt(w) for w in YORK_WY])
    assert line.intercept == pytest.approx(5.47991022403, rel=1e-10)
    assert line.slope == pytest.approx(-0.48053340745, rel=1e-10)
    assert line.intercept_u == pytest.approx(0.294970735, rel=1e-7)
    assert line.slope_u == pytest.approx(0.0579850090, rel=1e-7)
    assert line.chi_square / 8 == pytest.approx(1.483294149, rel=1e-8)


def test_york_agrees_with_an_independent_library():
    """odrpack (orthogonal distance regression) as reference."""
    odrpack = pytest.importorskip("odrpack")
    np = pytest.importorskip("numpy")
    fit = odrpack.odr_fit(
        lambda x, b: b[0] + b[1] * x,
        np.array(PEARSON_X, float),
        np.array(PEARSON_Y),
        np.array([5.0, -0.5]),
        weight_x=np.array(YORK_WX, float),
        weight_y=np.array(YORK_WY, float),
    )
    line = york_line(PEARSON_X, PEARSON_Y, [1 / sqrt(w) for w in YORK_WX], [1 / sqrt(w) for w in YORK_WY])
    assert [line.intercept, line.slope] == pytest.approx(list(fit.beta), rel=1e-4)


def test_vendor_table_of_26_rows_has_the_slope_of_its_design_power():
    """Core i7 Extreme (LGA1366) Datasheet Vol. 1, table 6-3, p. 80: Psi over ambient; its slope is 1 / 130 W."""
    ambient = [43.2, *(float(t) for t in range(42, 17, -1))]
    psi = [
        0.190,
        0.199,
        0.207,
        0.215,
        0.222,
        0.230,
        0.238,
        0.245,
        0.253,
        0.261,
        0.268,
        0.276,
        0.284,
        0.292,
        0.299,
        0.307,
        0.315,
        0.322,
        0.330,
        0.338,
        0.345,
        0.353,
        0.361,
        0.368,
        0.376,
        0.384,
    ]
    line = plain_line([43.2 - t for t in ambient], psi)
    assert line.slope == pytest.approx(1 / 130, abs=2e-5)
    assert line.slope == pytest.approx(0.00769079, abs=5e-9)
    assert line.intercept == pytest.approx(0.190, abs=5e-4)


def test_lines_agree_with_scipy():
    """scipy.stats.linregress as reference library."""
    rng = random.Random(1)
    x = [rng.uniform(0, 50) for _ in range(40)]
    y = [3 + 2.2 * value + rng.gauss(0, 1) for value in x]
    ours, theirs = plain_line(x, y), stats.linregress(x, y)
    assert (ours.slope, ours.intercept) == pytest.approx((theirs.slope, theirs.intercept), rel=1e-12)
    assert (ours.slope_u, ours.intercept_u) == pytest.approx((theirs.stderr, theirs.intercept_stderr), rel=1e-10)
    running = RunningLine(x, y)
    assert running.slope(0, 40) == pytest.approx(theirs.slope, rel=1e-9)
    assert running.slope(5, 20) == pytest.approx(stats.linregress(x[5:20], y[5:20]).slope, rel=1e-9)


def test_no_line_through_points_that_are_all_alike():
    assert weighted_line([5.0, 5.0, 5.0], [1.0, 2.0, 3.0], [1.0] * 3) is None
    assert york_line([5.0, 5.0], [1.0, 2.0], [0.1] * 2, [0.1] * 2) is None
    assert weighted_line([5.0], [1.0], [1.0]) is None


@pytest.mark.parametrize(
    ("watts", "floor"),
    [(5, 0.7773), (10, 0.8195), (20, 0.8547), (30, 0.8695), (36, 0.8740), (45, 0.8773), (49, 0.8777), (60, 0.880)],
)
def test_least_efficiency_of_external_supplies(watts, floor):
    """Commission Regulation (EU) 2019/1782, AC-DC external supplies of normal voltage."""
    assert least_efficiency(watts) == pytest.approx(floor, abs=5e-5)
