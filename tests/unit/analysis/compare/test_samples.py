"""The statistics alone, against published values and a reference library."""

from math import sqrt

import pytest
from scipy import stats

from benchmon.analysis.compare.samples import EXPECTED_DEGREES, Sample, of_pairs, of_two, with_common

SLEEP_A = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
SLEEP_B = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]


def test_pairs_student_sleep_data():
    """Student (1908), hours of extra sleep, paired: t = -4.0621, df = 9, p = 0.002833 (R, `sleep`)."""
    found = of_pairs(Sample.of([a - b for a, b in zip(SLEEP_A, SLEEP_B, strict=True)]))
    assert found.t == pytest.approx(-4.0621, abs=5e-5)
    assert found.degrees == 9
    assert found.chance == pytest.approx(0.002833, abs=5e-7)
    low, high = stats.ttest_rel(SLEEP_A, SLEEP_B).confidence_interval()
    assert found.figure().low == pytest.approx(low)
    assert found.figure().high == pytest.approx(high)


def test_two_samples_nist_auto83b():
    """NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B (from memory; recomputed): pooled T = -12.62059, 326 degrees."""
    usa = Sample(249, 20.14458, 248 * 6.414700**2)
    japan = Sample(79, 30.48101, 78 * 6.107710**2)
    found = of_two(japan, usa)
    assert found.t == pytest.approx(-12.62059, abs=2e-5)
    assert found.degrees == 326


def test_two_samples_as_scipy_does():
    found = of_two(Sample.of(SLEEP_A), Sample.of(SLEEP_B))
    reference = stats.ttest_ind(SLEEP_B, SLEEP_A)
    assert found.t == pytest.approx(reference.statistic)
    assert found.chance == pytest.approx(reference.pvalue)
    assert found.figure().low == pytest.approx(reference.confidence_interval().low)


def test_single_runs_have_nothing_but_what_is_expected():
    found = of_two(Sample.of([1.0]), Sample.of([1.5]), (0.3, 0.4))
    assert (found.value, found.degrees) == (0.5, EXPECTED_DEGREES)
    assert found.u == pytest.approx(0.5)


def test_repeats_that_scatter_as_expected_leave_the_expectation_as_it_is():
    one, other = Sample(3, 0.0, 2 * 0.09), Sample(3, 1.0, 2 * 0.16)
    found = of_two(one, other, (0.3, 0.4))
    assert found.u == pytest.approx(sqrt((0.09 + 0.16) / 3))
    assert found.degrees == EXPECTED_DEGREES + 4


def test_repeats_that_scatter_more_than_expected_are_believed():
    found = of_two(Sample(3, 0.0, 2 * 9.0), Sample(3, 1.0, 2 * 9.0), (1.0, 1.0))
    assert found.u == pytest.approx(of_two(Sample(3, 0.0, 18.0), Sample(3, 1.0, 18.0)).u)


def test_repeats_that_scatter_less_narrow_it_only_a_little():
    found = of_two(Sample(2, 0.0, 0.0), Sample(2, 1.0, 0.0), (1.0, 1.0))
    assert found.u == pytest.approx(sqrt(EXPECTED_DEGREES / (EXPECTED_DEGREES + 2)))


def test_nothing_expected_and_nothing_repeated_is_refused():
    with pytest.raises(ValueError, match="one value of each"):
        of_two(Sample.of([1.0]), Sample.of([2.0]))


def test_what_all_runs_share_stays_however_many_there_are():
    found = with_common(of_two(Sample(100, 0.0, 99.0), Sample(100, 1.0, 99.0), (1.0, 1.0)), 0.5)
    assert found.u == pytest.approx(sqrt(0.5**2 + 0.02), rel=1e-3)
    assert found.degrees < 60
