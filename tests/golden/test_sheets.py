"""The sheets of one summary, held against files with their true extension. Renew: GOLDEN=write pytest tests/golden."""

import csv
import io
import json
import os
from pathlib import Path

import pytest

from benchmon.views.sheets import document_json, markdown, table_csv, text
from tests.support.summaries import full_summary

HERE = Path(__file__).parent
FORMATS = {"sheet.txt": text, "sheet.md": markdown, "sheet.csv": table_csv, "sheet.json": document_json}


@pytest.mark.parametrize("name", FORMATS)
def test_sheet(name):
    rendered = FORMATS[name].render(full_summary())
    if os.environ.get("GOLDEN") == "write":
        (HERE / name).write_text(rendered, encoding="utf-8", newline="")
    assert rendered == (HERE / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", FORMATS)
def test_rendering_twice_gives_the_same_bytes(name):
    assert FORMATS[name].render(full_summary()) == FORMATS[name].render(full_summary())


def test_text_sheet_fits_80_columns():
    assert max(len(line) for line in text.render(full_summary()).splitlines()) <= 80


def test_table_and_csv_agree():
    """Mean package power of each phase is the same in the CSV and in the JSON."""
    rows = list(csv.DictReader(io.StringIO(table_csv.render(full_summary()))))
    phases = json.loads(document_json.render(full_summary()))["phases"]
    assert [float(row["package_power_w_mean"]) for row in rows] == [p["means"]["package_power_w"] for p in phases]
    assert [row["end_s"] for row in rows] == ["60", "120", ""]


@pytest.mark.parametrize("sheet", [text, markdown])
def test_nothing_found_is_not_said_where_nothing_could_be_seen(sheet):
    from dataclasses import replace

    summary = full_summary()
    quiet = replace(summary, events=())
    assert "None found." in sheet.render(quiet)
    blind = replace(
        quiet,
        header=replace(summary.header, channels=summary.header.channels[1:]),
        phases=tuple(replace(phase, means={}) for phase in summary.phases),
    )
    assert "Not known: neither clock nor work rate was read." in sheet.render(blind)
    assert "Not in this recording: clock." in sheet.render(blind)


def test_people_cannot_type_markup_or_formulas():
    summary = full_summary()
    from dataclasses import replace

    evil = replace(summary, phases=(replace(summary.phases[0], name="=cmd|' /C calc'!A0"),))
    assert "\\|" in markdown.render(evil)
    assert list(csv.reader(io.StringIO(table_csv.render(evil))))[1][0].startswith("'=")


def test_the_documented_json_keys_are_those_that_are_written():
    """docs/sheet-json.md names every key of the document, its phases, events and thermal part."""
    page = (HERE.parent.parent / "docs/sheet-json.md").read_text(encoding="utf-8")
    document = json.loads(document_json.render(full_summary()))
    wanted = set(document) | set(document["phases"][0]) | set(document["events"][0]) | set(document["thermal"])
    wanted |= set(document["thermal"]["line"]) | set(document["forecast"][0]) | set(document["wall_power"])
    wanted |= set(document["quality"]) | set(document["session"]) | set(document["machine"])
    assert not {key for key in wanted if f"`{key}`" not in page}
