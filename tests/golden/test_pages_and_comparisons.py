"""Page and comparison in every format, held against files. Renew: GOLDEN=write pytest tests/golden."""

import os
from math import inf
from pathlib import Path

import html5lib
import pytest

from benchmon import __version__
from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.analysis.summary import summarise
from benchmon.session.reader import read_session
from benchmon.views.figures.change_picture import change_picture
from benchmon.views.figures.comparison_page import render_comparison_page
from benchmon.views.figures.page import render_page
from benchmon.views.sheets import text as sheet_text
from benchmon.views.sheets.comparison import document_json, markdown, table_csv, text

HERE = Path(__file__).parent
RECORDINGS = HERE.parents[1] / "recordings"
NAMES = ("box-as-bought", "box-with-duct")
FORMATS = {"compare.txt": text, "compare.md": markdown, "compare.csv": table_csv, "compare.json": document_json}


@pytest.fixture(scope="module")
def runs():
    sessions = [read_session(RECORDINGS / f"{name}.session.jsonl") for name in NAMES]
    return [(one, summarise(one, look_every_s=inf)) for one in sessions]


@pytest.fixture(scope="module")
def comparison(runs):
    return compare([bench_run(one, name) for (one, _), name in zip(runs, NAMES, strict=True)])


def held(name, rendered):
    rendered = rendered.replace(f"benchmon {__version__}", "benchmon VERSION")
    if os.environ.get("GOLDEN") == "write":
        (HERE / name).write_text(rendered, encoding="utf-8", newline="")
    assert rendered == (HERE / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", FORMATS)
def test_comparison(name, comparison):
    held(name, FORMATS[name].render(comparison))


def test_pages(runs, comparison):
    """Both also pass html5lib's strict parser, which follows the parse errors of the HTML standard (whatwg.org)."""
    pages = {
        "sheet.html": render_page(*runs[0]),
        "compare.html": render_comparison_page(comparison, change_picture(comparison, *runs)),
    }
    for name, page in pages.items():
        html5lib.HTMLParser(strict=True).parse(page)
        assert page.count("<h1>") == 1 and page.count('<svg xmlns="http://www.w3.org/2000/svg"') == page.count(
            "aria-label="
        )
        assert page.count("<table>") == page.count("<thead>") > 0 and 'scope="col"' in page and 'scope="row"' in page
        held(name, page)


def test_text_stays_within_80_columns(comparison):
    for path in sorted(RECORDINGS.glob("*.session.jsonl")):
        made = read_session(path)
        lines = sheet_text.render(summarise(made, look_every_s=inf)).splitlines()
        assert not [line for line in lines if len(line) > 80], path.name
    assert max(len(line) for line in text.render(comparison).splitlines()) <= 80
