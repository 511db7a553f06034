"""``docs/session-format.md`` says what the program does, and the open standards it leans on are kept."""

import json
import re
from datetime import datetime
from pathlib import Path

import pytest

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import LoadAction, MarkKind
from benchmon.model.units import Unit
from benchmon.session.decode import _BUILDERS
from benchmon.session.encode import VERSION
from benchmon.session.reader import read_session
from benchmon.session.rounding import decimals_kept

ROOT = Path(__file__).resolve().parents[3]
TEXT = (ROOT / "docs" / "session-format.md").read_text()
LINES = [
    line for path in sorted((ROOT / "recordings").glob("*.session.jsonl")) for line in path.read_bytes().split(b"\n")
]


def test_its_example_is_a_whole_session(tmp_path):
    path = tmp_path / "example.session.jsonl"
    path.write_text(re.search(r"```\n(.*?)```", TEXT, re.DOTALL)[1])
    session = read_session(path)
    assert session.is_complete
    assert [sample.values for sample in session.records[1:-1]] == [(38,), (None,), (39,)]


def test_its_version_is_the_one_that_is_written():
    assert f"# The session format, version {VERSION}\n" in TEXT


def test_its_table_of_units_is_the_programs():
    rows = re.findall(r"^\| `(\S+)` \| [^|]+ \| `(\w+)` \| (\d) \|$", TEXT, re.MULTILINE)
    assert [(Unit(code).suffix, code) for code, _, _ in rows] == [(suffix, code) for code, suffix, _ in rows]
    assert {code for code, _, _ in rows} == {unit.value for unit in Unit}
    for code, suffix, decimals in rows:
        assert decimals_kept(Channel(suffix, "", Unit(code), "")) == int(decimals)


def test_it_describes_every_kind_of_record_mark_and_action():
    assert set(re.findall(r'^### `"record":"(\w+)"`', TEXT, re.MULTILINE)) == set(_BUILDERS)
    for code in [*MarkKind, *LoadAction]:
        assert f"`{code.value}`" in TEXT


def test_it_names_every_canonical_key():
    for value in (value for name, value in vars(keys).items() if name.isupper()):
        assert f"`{value}`" in TEXT, value


@pytest.mark.parametrize("path", sorted((ROOT / "recordings").glob("*.session.jsonl")), ids=lambda path: path.name)
def test_every_finished_line_is_strict_json(path):
    """RFC 8259: no NaN, no Infinity; and one line feed ends each line."""

    def refuse(name):
        raise ValueError(name)

    *finished, _ = path.read_bytes().split(b"\n")
    for line in finished:
        json.loads(line, parse_constant=refuse)
        assert b"\r" not in line


def test_started_at_is_a_full_date_and_time_of_rfc_3339():
    for line in LINES:
        if b'"record":"session"' in line:
            written = json.loads(line)["started_at"]
            assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)", written)
            assert datetime.fromisoformat(written).tzinfo


def test_a_reader_made_from_the_specification_alone_finds_the_same_samples():
    """Ten lines that know the page and nothing of the program."""
    for path in (ROOT / "recordings").glob("*.session.jsonl"):
        theirs = []
        for line in path.read_text().split("\n"):
            try:
                value = json.loads(line)
            except ValueError:
                continue
            if isinstance(value, list) and value[0] == "s":
                theirs.append((value[1], tuple(value[2]), value[3] if len(value) > 3 else 0))
            if isinstance(value, dict) and value["record"] == "end":
                break
        ours = [record for record in read_session(path).records if type(record).__name__ == "Sample"]
        assert [(sample.t_s, sample.values, sample.read_cost_s) for sample in ours] == theirs
