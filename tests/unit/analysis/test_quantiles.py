"""Student's t, Welch–Satterthwaite against the GUM and scipy."""

import math

import pytest
from scipy import stats

from benchmon.analysis.fit.quantiles import combined_degrees, student_cdf, student_t

# JCGM 100:2008 (GUM), table G.2: ν → t for 68.27, 90, 95, 95.45, 99, 99.73 %
TABLE_G2 = {
    1: (1.84, 6.31, 12.71, 13.97, 63.66),
    2: (1.32, 2.92, 4.30, 4.53, 9.92, 19.21),
    3: (1.20, 2.35, 3.18, 3.31, 5.84, 9.22),
    4: (1.14, 2.13, 2.78, 2.87, 4.60, 6.62),
    5: (1.11, 2.02, 2.57, 2.65, 4.03, 5.51),
    9: (1.06, 1.83, 2.26, 2.32, 3.25, 4.09),
    10: (1.05, 1.81, 2.23, 2.28, 3.17, 3.96),
    20: (1.03, 1.72, 2.09, 2.13, 2.85, 3.42),
    50: (1.01, 1.68, 2.01, 2.05, 2.68, 3.16),
    math.inf: (1.000, 1.645, 1.960, 2.000, 2.576, 3.000),
}
SHARES = (0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973)


@pytest.mark.parametrize("degrees", TABLE_G2)
def test_table_of_the_gum(degrees):
    for share, printed in zip(SHARES, TABLE_G2[degrees], strict=False):
        digits = 3 if math.isinf(degrees) else 2
        assert student_t(0.5 + share / 2, degrees) == pytest.approx(printed, abs=0.51 * 10**-digits)


@pytest.mark.parametrize("degrees", [1, 1.5, 2, 3.7, 8, 16.75, 50, 400])
@pytest.mark.parametrize("share", [0.001, 0.1, 0.5, 0.8, 0.975, 0.999])
def test_scipy_agrees(degrees, share):
    assert student_t(share, degrees) == pytest.approx(stats.t.ppf(share, degrees), rel=1e-7, abs=1e-9)
    assert student_cdf(1.3, degrees) == pytest.approx(stats.t.cdf(1.3, degrees), rel=1e-9)


def test_gauge_block_of_the_gum():
    """GUM H.1: components in nm with their degrees; u = 32 nm, ν = 16.75, and U99 = 93 nm."""
    parts = [(25, 18), (16.599, 2), (6.7, 8), (5.8, 24), (3.9, 5), (2.887, 50)]
    # GTC prints 31.6637674111 and 16.7521475092 from these and smaller parts without degrees.
    degrees = combined_degrees(parts)
    u = math.sqrt(sum(value**2 for value, _ in parts))
    assert u == pytest.approx(31.66, abs=0.05)
    assert degrees == pytest.approx(16.75, abs=0.1)
    assert student_t(0.995, 16) * 32 == pytest.approx(93, abs=0.6)


def test_note_to_g_4_1():
    """GUM G.4.1: 0.25 %, 0.57 %, 0.82 % from 10, 5 and 15 readings → 1.03 % with 19 degrees (from memory)."""
    parts = [(0.25, 9), (0.57, 4), (0.82, 14)]
    assert combined_degrees(parts) == pytest.approx(19.0, abs=0.05)


def test_without_any_doubt_about_the_doubt_degrees_are_infinite():
    assert combined_degrees([(1.0, math.inf), (2.0, math.inf)]) == math.inf
