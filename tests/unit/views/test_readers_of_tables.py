"""Markdown and CSV as others read them: two Markdown renderers of different parentage, and the spreadsheet's two ways.

markdown-it-py follows CommonMark and the table extension of GitHub's specification; mistune is a parser of its own.
"""

import csv
import io
import re
from dataclasses import replace

import html5lib
import markdown_it
import mistune
import pytest

from benchmon.cli.main import main
from benchmon.model.records import MarkKind
from benchmon.views.doors import csv_cell
from benchmon.views.sheets import markdown, table_csv
from benchmon.views.sheets.content import make_sheet
from benchmon.views.sheets.decimal_comma import with_decimal_comma
from benchmon.views.sheets.markdown import whole_names
from tests.support.bench_sessions import mark
from tests.support.summaries import full_summary

RENDERERS = {
    "markdown-it-py": markdown_it.MarkdownIt("commonmark", {"html": True}).enable("table").render,
    "mistune": mistune.create_markdown(escape=False, plugins=["table", "strikethrough", "url"]),
}
EVIL = "a|b <script>alert(1)</script> **x** _y_ `z` [t](http://u) &amp; # h ~~s~~ \\| https://v.w www.q.r"
SPACE = re.compile(r"\s+")


def stranger():
    summary = full_summary()
    return replace(
        summary,
        phases=tuple(replace(phase, name=f"{EVIL} {i}") for i, phase in enumerate(summary.phases)),
        tags={"duct": EVIL, "lid": "- on"},
        marks=(*summary.marks, mark(90, 5.0, MarkKind.NOTE, EVIL), mark(91, 6.0, MarkKind.NOTE, "1. one\n# two")),
    )


def words_of(element):
    return SPACE.sub(" ", "".join(element.itertext())).strip()


def plain(text):
    return SPACE.sub(" ", text).strip()


@pytest.mark.parametrize("renderer", RENDERERS)
@pytest.mark.parametrize("make", [full_summary, stranger])
def test_two_renderers_show_the_same_cells(renderer, make):
    summary = make()
    sheet = make_sheet(summary)
    page = html5lib.parse(RENDERERS[renderer](markdown.render(summary)), namespaceHTMLElements=False)
    shown = [[[words_of(cell) for cell in row] for row in table.iter("tr")] for table in page.iter("table")]
    wanted = []
    for table in (sheet.phases, sheet.more)[: len(shown)]:
        heads = [f"{name} [{unit}]" if unit else name for name, unit in table.headings()]
        wanted.append([heads, *([plain(cell) for cell in row] for row in whole_names(table))])
    assert shown == wanted and len(shown) == 2
    said = [words_of(item) for item in page.iter("li")]
    assert {plain(sentence) for sentence in (*sheet.verdict, *sheet.entries, *sheet.doubts)} <= set(said)
    assert [words_of(one) for one in page.iter("h1")] == [plain(sheet.title)]
    assert len(list(page.iter("h2"))) == markdown.render(summary).count("\n## ")
    for kind in ("script", "a", "code", "del", "em"):
        assert not list(page.iter(kind)), kind


def test_rows_of_a_throttled_phase_carry_its_name():
    table = make_sheet(full_summary()).phases
    names = [row[0] for row in whole_names(table)]
    assert not [name for name in names if name.startswith(" ")]
    assert any(name.endswith(", sustained") for name in names)


@pytest.mark.parametrize("text", ["- x", "+ x", "1. x", "12) x", "-", "# x"])
def test_a_strangers_line_begins_no_list_and_no_heading(text):
    from benchmon.views.doors import markdown as door

    for render in RENDERERS.values():
        page = html5lib.parse(render(f"- {door(text)}\n"), namespaceHTMLElements=False)
        assert [words_of(item) for item in page.iter("li")] == [text]
        assert not list(page.iter("h1")) and not list(page.iter("ol"))


def test_both_forms_of_csv_hold_the_same():
    """A spreadsheet of a decimal-comma locale takes ``;`` and ``,``; read back, every number is the other form's."""
    table = table_csv.render(stranger())
    comma = with_decimal_comma(table)
    assert comma.startswith("\ufeff") and not table.startswith("\ufeff")
    rows = list(csv.reader(io.StringIO(table)))
    others = list(csv.reader(io.StringIO(comma[1:], newline=""), delimiter=";"))
    assert len({len(row) for row in rows}) == 1 and len(rows) == len(others) > 2
    numbers = 0
    for row, other in zip(rows, others, strict=True):
        for cell, same in zip(row, other, strict=True):
            if re.fullmatch(r"-?\d+\.\d+", cell):
                numbers += 1
                assert "." not in same and float(same.replace(",", ".")) == float(cell)
            else:
                assert same == cell
    assert numbers > 20
    assert csv.Sniffer().sniff(comma[1:].splitlines()[0]).delimiter == ";"
    assert csv.Sniffer().sniff(table.splitlines()[0]).delimiter == ","


def test_no_cell_is_a_formula_in_either_form():
    for sign in "=+-@":
        cell = csv_cell(f"{sign}1+1")
        for table in (f"{cell}\n", with_decimal_comma(f"{cell}\n")):
            assert table.lstrip("\ufeff").startswith("'")


def test_a_decimal_comma_needs_a_table(capsys, tmp_path):
    assert main(["sheet", "--decimal-comma"]) == 2
    assert "--format csv" in capsys.readouterr().err
