"""Names of files, the chain of upgrades, the rounding rule."""

import doctest
from datetime import datetime

import pytest

from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.session import encode, naming, order, rounding
from benchmon.session.naming import SUFFIX, session_file_name
from benchmon.session.rounding import decimals_kept
from benchmon.session.upgrades import STEPS, upgrade

MOMENT = datetime(2026, 11, 25, 13, 10)


@pytest.mark.parametrize("module", [rounding, naming, order])
def test_the_examples_in_the_docstrings(module):
    results = doctest.testmod(module)
    assert results.attempted
    assert not results.failed


@pytest.mark.parametrize(
    ("tags", "name"),
    [
        ({}, "2026-11-25_1310"),
        ({"paste": "Größe XL"}, "2026-11-25_1310_paste-grosse-xl"),
        ({"a/b": "../../etc"}, "2026-11-25_1310_a-b-..-..-etc"),
        ({"fan": "1.5 W\n"}, "2026-11-25_1310_fan-1.5-w"),
        ({"日": "本"}, "2026-11-25_1310"),
    ],
)
def test_names_are_plain(tags, name):
    assert session_file_name(MOMENT, tags) == name + SUFFIX


def test_names_are_never_too_long():
    name = session_file_name(MOMENT, {f"key{count}": "value" * 20 for count in range(20)})
    assert len(name) <= 120 + len(SUFFIX)


def test_every_earlier_version_has_its_step():
    assert set(STEPS) == set(range(1, encode.VERSION))


def test_a_line_goes_through_each_step_once_and_is_not_changed():
    steps = {1: lambda line: {**line, "two": True}, 2: lambda line: {**line, "three": line["two"]}}
    line = {"record": "gap"}
    assert upgrade(line, 1, today=3, steps=steps) == {"record": "gap", "two": True, "three": True}
    assert upgrade({"two": 2}, 2, today=3, steps=steps) == {"two": 2, "three": 2}
    assert upgrade(line, 3, today=3, steps=steps) is line
    assert line == {"record": "gap"}


@pytest.mark.parametrize(
    ("unit", "suffix", "resolution", "decimals"),
    [
        (Unit.CELSIUS, "c", 1.0, 1),
        (Unit.CELSIUS, "c", 0.125, 2),
        (Unit.CELSIUS, "c", 0.0001, 3),
        (Unit.CELSIUS, "c", 25.0, 1),
        (Unit.MEGAHERTZ, "mhz", 0.001, 1),
        (Unit.WATT, "w", 0.1, 2),
        (Unit.WATT, "w", 0.0, 3),
        (Unit.WATT, "w", float("nan"), 3),
        (Unit.WATT, "w", None, 3),
    ],
)
def test_one_decimal_more_than_the_source_resolves(unit, suffix, resolution, decimals):
    assert decimals_kept(Channel(f"x_{suffix}", "", unit, "", resolution)) == decimals
