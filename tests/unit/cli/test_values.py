"""What people type: durations, numbers with units, tags. Nonsense gets a sentence, never a guess."""

import argparse

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmon.cli.values import duration_between, duration_s, number_between, tag


@pytest.mark.parametrize(
    ("text", "seconds"), [("90", 90), ("90s", 90), ("1.5m", 90), ("2h", 7200), ("1m30s", 90), ("500ms", 0.5)]
)
def test_durations(text, seconds):
    assert duration_s(text) == pytest.approx(seconds)


@pytest.mark.parametrize("text", ["", "soon", "-5s", "5 parsecs", "1e3", "nan", "inf", "5s5"])
def test_no_durations(text):
    with pytest.raises(argparse.ArgumentTypeError):
        duration_s(text)


def test_bounds_are_said():
    with pytest.raises(argparse.ArgumentTypeError, match=r"between 0\.1 s and 10 s"):
        duration_between(0.1, 10)("11s")


@pytest.mark.parametrize(
    ("text", "value"), [("24", 24.0), ("24C", 24.0), ("24 °C", 24.0), ("23,5", 23.5), ("-3", -3.0)]
)
def test_numbers(text, value):
    assert number_between(-40, 60, "C")(text) == value


@pytest.mark.parametrize("text", ["", "warm", "nan", "inf", "61", "2 4"])
def test_no_numbers(text):
    with pytest.raises(argparse.ArgumentTypeError):
        number_between(-40, 60, "C")(text)


@pytest.mark.parametrize("text", ["paste", "=x", "paste=", "1=2", "a b=c", ""])
def test_no_tags(text):
    with pytest.raises(argparse.ArgumentTypeError):
        tag(text)


def test_tag():
    assert tag("paste = fresh today") == ("paste", "fresh today")


@given(st.text(max_size=12))
def test_whatever_is_typed_only_the_expected_error_leaves(text):
    for parse in (duration_s, number_between(0, 1, "W"), tag):
        try:
            parse(text)
        except argparse.ArgumentTypeError:
            pass
