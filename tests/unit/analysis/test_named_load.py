"""A phase whose load contradicts its name."""

import pytest

from benchmon.analysis.intake.named_load import contradiction
from benchmon.model import keys
from benchmon.model.findings import PhaseFindings, Spread


def row(name, load_pct):
    means = {} if load_pct is None else {keys.LOAD: Spread(load_pct, load_pct, load_pct, load_pct, 100)}
    return PhaseFindings(name, 0.0, 60.0, means)


@pytest.mark.parametrize(
    ("name", "load_pct", "processors"),
    [
        ("idle", 60.0, 8),
        ("idle (2)", 60.0, None),
        ("cool-down", 100.0, 8),
        ("all cores", 13.0, 8),
        ("all cores (2)", 1.0, None),
        ("one core", 100.0, 8),
        ("one core", 0.5, 8),
        ("4 cores", 95.0, 8),
        ("4 cores (2)", 13.0, 8),
    ],
)
def test_a_load_that_contradicts_the_name(name, load_pct, processors):
    assert contradiction(row(name, load_pct), 60.0, processors) == f"{name} at {load_pct:.0f} % load"


@pytest.mark.parametrize(
    ("name", "load_pct", "processors"),
    [
        ("idle", 5.0, 8),
        ("idle", None, 8),
        ("all cores", 50.0, 16),  # one of each two threads
        ("all cores", 100.0, None),
        ("one core", 14.0, 8),
        ("one core", 100.0, 1),
        ("one core", 100.0, None),
        ("4 cores", 55.0, 8),
        ("command", 3.0, 8),
        ("lid off", 77.0, 8),
        ("99999 cores", 3.0, 8),
    ],
)
def test_a_load_that_does_not(name, load_pct, processors):
    assert contradiction(row(name, load_pct), 60.0, processors) == ""


def test_a_moment_says_nothing():
    assert contradiction(row("idle", 90.0), 3.0, 8) == ""
