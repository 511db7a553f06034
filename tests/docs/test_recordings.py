"""The table in ``recordings/README.md`` and the folder name the same recordings; each has its expected answer."""

import json
import re
from pathlib import Path

import pytest

RECORDINGS = Path(__file__).resolve().parents[2] / "recordings"
SUFFIX = ".session.jsonl"
NAMES = sorted(path.name.removesuffix(SUFFIX) for path in RECORDINGS.glob("*" + SUFFIX))


def test_there_are_recordings():
    assert NAMES


def test_the_table_lists_each_recording_and_no_other():
    rows = re.findall(r"^\| *`?([\w-]+)`? *\|", (RECORDINGS / "README.md").read_text(), re.MULTILINE)
    listed = {row for row in rows if row.lower() not in {"name", "recording"} and set(row) != {"-"}}
    assert listed == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_each_recording_has_its_answer_and_where_it_came_from(name):
    expected = json.loads((RECORDINGS / f"{name}.expected.json").read_text())
    assert expected.get("source"), "the answer must say where it came from"


@pytest.mark.parametrize("name", NAMES)
def test_each_recording_is_small(name):
    assert (RECORDINGS / f"{name}{SUFFIX}").stat().st_size < 200_000
