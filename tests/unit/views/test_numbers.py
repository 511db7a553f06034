"""Numbers become text in one way: rounded to what the sensor resolves, with unit, and "–" where nothing was read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmon.model.findings import Figure
from benchmon.model.units import Unit
from benchmon.views.numbers import (
    NOT_READ,
    clock_ghz,
    duration,
    figure_text,
    half_width,
    plain,
    plain_ascii,
    quantity,
    share,
)


@pytest.mark.parametrize(
    ("value", "unit", "resolution", "text"),
    [
        (73.0, Unit.CELSIUS, 1.0, "73 °C"),
        (73.125, Unit.CELSIUS, 0.125, "73.1 °C"),
        (73.125, Unit.CELSIUS, None, "73.1 °C"),
        (22.14, Unit.WATT, 0.01, "22.1 W"),
        (2400.4, Unit.MEGAHERTZ, 0.001, "2400 MHz"),
        (99.6, Unit.PERCENT, None, "100%"),
        (3.0, Unit.COUNT, None, "3"),
        (None, Unit.WATT, None, NOT_READ),
        (float("nan"), Unit.WATT, None, NOT_READ),
        (-3.25, Unit.CELSIUS, None, "−3.2 °C"),
        (-0.01, Unit.WATT, None, "0.0 W"),
    ],
)
def test_quantity(value, unit, resolution, text):
    assert quantity(value, unit, resolution) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0:00"),
        (40.9, "0:40"),
        (372, "6:12"),
        (3725, "1:02:05"),
        (None, NOT_READ),
        (-5, "−0:05"),
        (59.9999999, "1:00"),
    ],
)
def test_duration(seconds, text):
    assert duration(seconds) == text


@pytest.mark.parametrize(
    ("figure", "text"),
    [
        (Figure(22.13, 21.4, 22.9), "22.1 ± 0.8 W"),
        (Figure(22.13, 22.12, 22.14), "22.13 ± 0.01 W"),
        (Figure(81.3, 70.0, 95.0), "81 ± 14 W"),
        (Figure(5.0, None, None), "5.0 W"),
        (Figure(why_not="no room temperature was given"), "– (no room temperature was given)"),
    ],
)
def test_figure_shows_no_more_digits_than_its_uncertainty_bears(figure, text):
    assert figure_text(figure, "W") == text


def test_half_width_is_the_larger_side():
    assert half_width(Figure(10.0, 9.0, 13.0)) == 3.0
    assert half_width(Figure(10.0, None, 13.0)) is None


def test_clock_and_share():
    assert clock_ghz(1380.0) == "1.38 GHz"
    assert clock_ghz(None) == NOT_READ
    assert share(0.376) == "38%"
    assert share(None) == NOT_READ


@given(st.text(alphabet="aZ0–—−°C±→·×≤≥²…“”’µΔ█│─┄é漢", max_size=30))
def test_ascii_form_is_ascii_whatever_comes(text):
    assert plain_ascii(text).isascii()


@given(st.floats(-1e6, 1e6), st.integers(0, 3))
def test_plain_never_shows_minus_zero(value, decimals):
    text = plain(value, decimals)
    assert not (text.startswith("−") and float(text.replace("−", "-")) == 0)
    assert float(text.replace("−", "-")) == pytest.approx(value, abs=0.51 * 10**-decimals)
