"""Whatever still reads as a session can be summarised and printed: values, keys and lines changed at random, seeded."""

import json
import random
from pathlib import Path

import pytest

from benchmon.analysis.summary import summarise
from benchmon.errors import SessionFormatError
from benchmon.session.reader import read_session
from benchmon.views.sheets import document_json, markdown, table_csv, text

RECORDINGS = sorted((Path(__file__).resolve().parents[2] / "recordings").glob("*.session.jsonl"))
MOST_LINES = 250
ODD = [None, 0, -1, 1e9, -1e9, 1e-9, 1e300, -1e300, -64, 3.5, 10**18, "x", True, []]


def damaged(lines: list[str], chance: random.Random) -> list[str]:
    for _ in range(chance.choice([1, 2, 5, 30])):
        at = chance.randrange(len(lines))
        try:
            record = json.loads(lines[at])
        except ValueError:
            continue
        what = chance.random()
        if what < 0.1 and at > 0:
            del lines[at]
        elif what < 0.2:
            lines.insert(chance.randrange(1, len(lines) + 1), lines[at])
        elif isinstance(record, list) and len(record) > 2 and isinstance(record[2], list) and record[2]:
            record[2][chance.randrange(len(record[2]))] = chance.choice(ODD)
            lines[at] = json.dumps(record)
        elif isinstance(record, dict) and record:
            record[chance.choice(sorted(record))] = chance.choice(ODD)
            lines[at] = json.dumps(record)
    return lines


def no_such_number(name):
    raise AssertionError(f"{name} is not JSON")


@pytest.mark.parametrize("seed", range(80))
def test_a_damaged_session_gives_an_error_or_a_sheet(tmp_path, seed):
    chance = random.Random(seed)
    lines = chance.choice(RECORDINGS).read_text().splitlines()[:MOST_LINES]
    path = tmp_path / "damaged.session.jsonl"
    path.write_text("\n".join(damaged(lines, chance)) + "\n")
    try:
        session = read_session(path)
    except SessionFormatError:
        return
    summary = summarise(session)
    for sheet in (text, markdown, table_csv):
        assert sheet.render(summary)
    json.loads(document_json.render(summary), parse_constant=no_such_number)
