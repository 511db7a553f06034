"""Strangers' text has one way in (records and errors make it plain) and one way out for each format."""

import ast
import csv
import dataclasses
import inspect
import io
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmon import errors
from benchmon.model import channel, records, survey
from benchmon.model.units import Unit
from benchmon.plain_text import one_line
from benchmon.sensors import setting_value
from benchmon.views.doors import csv_cell, json_text, markdown, terminal

POISON = "a\x1b[31m\x1b]0;t\x07b\rc\x00d\x7fe\x9bf\u202eg\u2066h\u2028i\nj\ud800k\ufeffl\u200bm"
PACKAGE = Path(errors.__file__).parent


def is_plain(text):
    return all(sign.isprintable() for sign in text)


@given(st.text())
def test_plain_text_is_one_line_of_signs_that_can_be_shown(text):
    plain = one_line(text)
    assert is_plain(plain)
    assert one_line(plain) == plain
    assert len(plain) <= 1002


def test_every_text_of_every_record_is_made_plain():
    """A record with a text that its class does not make plain fails here, whoever adds it."""
    seen = 0
    for module in (records, channel, survey, setting_value):
        for _, kind in inspect.getmembers(module, inspect.isclass):
            if not dataclasses.is_dataclass(kind) or kind.__module__ != module.__name__ or kind is records.Session:
                continue
            given = {field.name: value_for(field) for field in dataclasses.fields(kind)}
            built = kind(**given)
            for field in dataclasses.fields(kind):
                value = getattr(built, field.name)
                for text in [value] if isinstance(value, str) else texts_in(value):
                    seen += 1
                    assert all(map(is_plain, text.split("\n" if field.name == "remedy" else "\0"))), (kind, field.name)
    assert seen > 25


def texts_in(value):
    return (
        [*value, *value.values()] if isinstance(value, dict) and all(isinstance(v, str) for v in value.values()) else []
    )


def value_for(field):
    kind = str(field.type)
    if field.name == "key":
        return POISON + "_w"
    if kind.startswith("str"):
        return POISON
    if "Mapping[str, str]" in kind:
        return {POISON: POISON}
    samples = {"unit": Unit.WATT, "kind": records.MarkKind.NOTE, "action": records.LoadAction.STARTED, "t_s": 0.0}
    samples |= {"started_at": datetime(2026, 1, 1, tzinfo=UTC), "channels": (), "closed": (), "settings": {}}
    samples |= {"channel": channel.Channel("a_w", "a", Unit.WATT, "a"), "values": (), "resolution": None}
    samples["value"] = POISON if "str" in kind else None
    return samples.get(field.name, 0)


@pytest.mark.parametrize("kind", errors.BenchmonError.__subclasses__())
def test_every_error_is_plain(kind):
    error = kind(POISON, POISON)
    assert is_plain(error.message)
    assert is_plain(error.hint)
    assert is_plain(str(error))


@given(st.text())
def test_the_ways_out_hold_what_they_say(text):
    assert all(sign.isprintable() or sign == "\n" for sign in terminal(text))
    assert is_plain(markdown(text))
    assert is_plain(csv_cell(text))
    shown = json_text({"text": text, "list": [text]}, indent=2)
    assert all(sign.isprintable() or sign == "\n" for sign in shown)
    assert json.loads(shown)["text"] == text  # RFC 8259: an escaped sign is the sign


@pytest.mark.parametrize(
    "cell", ["=1+1", "+1+1", "-1+1", "@x", "\t=1", " =1", "\u00a0=1", "\ufeff=1", "\r=1", "\n=1", "＝1"]
)
def test_no_spreadsheet_takes_a_cell_for_a_formula(cell):
    """Signs that begin a formula: OWASP, CSV Injection (=, +, -, @, tab, carriage return), and their wide forms."""
    out = io.StringIO()
    csv.writer(out).writerow([csv_cell(cell)])
    assert next(csv.reader(io.StringIO(out.getvalue())))[0].startswith("'")
    assert csv_cell("-12.5") == "-12.5"


@pytest.mark.parametrize(
    "text", ["[a](http://x)", "<b>", "# a", "http://x", "www.x.org", "a|b", "![i](u)", "&lt;", "@name"]
)
def test_markdown_makes_nothing_of_it(text):
    """CommonMark 0.31: any ASCII punctuation after a backslash is itself."""
    escaped = markdown(text)
    assert escaped != text
    assert escaped.replace("\\", "") == text


ALLOWED = {
    "cli/console.py", "cli/record.py", "cli/screen.py", "cli/main.py", "stream/trouble.py", "views/tui/app.py", "sensors/machine.py",
    "loads/reader.py", "virtual_bench/soak.py",
}  # fmt: skip
"""Modules that name a standard stream: they ask what it is, or hand it to a door. None else may."""


def test_nobody_else_touches_standard_streams():
    for path in PACKAGE.rglob("*.py"):
        if path.relative_to(PACKAGE).as_posix() in ALLOWED:
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id != "print", path
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "sys":
                assert node.attr not in ("stdout", "stderr", "__stdout__", "__stderr__") or path.name == "app.py", path


@pytest.mark.parametrize("name", ["cli/record.py", "cli/screen.py", "cli/main.py"])
def test_commands_write_through_the_console_only(name):
    assert ".write(" not in (PACKAGE / name).read_text().replace("voice.write(", "")


def test_no_sheet_makes_json_or_csv_by_itself():
    for path in (PACKAGE / "views").rglob("*.py"):
        if path.name != "doors.py":
            assert "json.dumps" not in path.read_text(), path
