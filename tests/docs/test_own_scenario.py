"""What people are shown is a story of our own: the check values of bench practice stand in the tests that use them only.

The check values (common practice, no source): a four-core part at 2.4 GHz whose 35 W fall to 22 W at 73 °C in a 24 °C room;
a two-core part at 2.9 GHz with 60 °C at 10 W and 71 °C at 15 W; 15, 24 and 33 W at the wall. One of them alone may stand
anywhere, by chance or for its own reason; two in one text are that example again.
"""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from benchmon.analysis.summary import summarise
from benchmon.cli import demo
from benchmon.cli.main import _COMMANDS, main
from benchmon.session.reader import read_session
from benchmon.views.sheets import text
from benchmon.virtual_bench.demo import CHAPTERS

ROOT = Path(__file__).resolve().parents[2]
MHZ, WATT, CELSIUS = r"[a-z_]*mhz", r"[a-z_]*_w", r"[a-z_]*_c"


def figure(words: str, *keys: str, value: str) -> re.Pattern[str]:
    """The figure in words, or as the value of one of these keys in JSON, or in a record of a session."""
    forms = [words, *(rf'"{key}": ?{value}(?![\d.])' for key in keys)]
    forms += [rf'"{key}","value": ?{value}(?![\d.])' for key in keys]
    return re.compile("|".join(forms), re.IGNORECASE)


FIGURES = {
    "four cores": figure(r"\b(?:four|4)[ -]cores?\b", "cores", "core_count", value=r"4(?:\.0)?"),
    "2.4 GHz": figure(r"\b2\.40? ?GHz|\b2400(?:\.0)? ?MHz|rated clock 2\.40?\b", MHZ, value=r"2400(?:\.0)?"),
    "2.9 GHz": figure(r"\b2\.90? ?GHz|\b2900(?:\.0)? ?MHz|rated clock 2\.90?\b", MHZ, value=r"2900(?:\.0)?"),
    "35 W": figure(r"\b(?:35(?:\.0)?|34\.8) ?W\b|--part-watts 35\b|\b34\.8 →", WATT, value=r"(?:35(?:\.0)?|34\.8)"),
    "22 W": figure(r"\b22(?:\.[01])?(?: ± [\d.]+)? ?W\b", WATT, value=r"22(?:\.[01])?"),
    "73 °C": figure(r"\b73(?:\.0)?(?: ± [\d.]+)? ?°C|limit 73\b", CELSIUS, value=r"73(?:\.0)?"),
    "60 °C at 10 W": figure(r"\b10(?:\.0)?\b.{1,12}\b60(?:\.0)?\b|\b60(?:\.0)? ?°C.{1,12}\b10(?:\.0)? ?W", value=""),
    "71 °C at 15 W": figure(r"\b15(?:\.0)?\b.{1,12}\b71(?:\.0)?\b|\b71(?:\.0)? ?°C.{1,12}\b15(?:\.0)? ?W", value=""),
    "24 °C room": figure(
        r"\b24(?:\.0)?(?: ± [\d.]+)? ?°C|(?:--room|--ambient|\broom)[ =]24\b|\"kind\":\"room\",\"value\":24\b",
        CELSIUS,
        value=r"24(?:\.0)?",
    ),
    "24 W at the wall": figure(
        r"wall (?:reading )?24(?:\.0)? W|--wall 24\b|\"wall\",\"value\":24\b", "wall_w", value="24.0"
    ),
    "33 W at the wall": figure(
        r"wall (?:reading )?33(?:\.0)? W|--wall 33\b|\"wall\",\"value\":33\b", "wall_w", value="33.0"
    ),
}


def standing_together(shown: str) -> list[str]:
    """The check values of which at least two stand in this text."""
    found = [name for name, pattern in FIGURES.items() if pattern.search(shown)]
    return found if len(found) > 1 else []


def shown_files() -> list[Path]:
    """README, docs, recordings with their answers, golden sheets, and the text of the pictures that tests keep."""
    patterns = ("*.md", "docs/**/*.md", "recordings/*.*", "tests/golden/sheet.*", "tests/looks/__snapshots__/**/*.svg")
    return sorted(path for pattern in patterns for path in ROOT.glob(pattern))


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", shown_files(), ids=name_of)
def test_no_page_shows_the_check_values(path):
    shown = html.unescape(path.read_text(encoding="utf-8")).replace("\N{NO-BREAK SPACE}", " ")
    assert not standing_together(shown)


@pytest.mark.parametrize("path", sorted(ROOT.glob("recordings/*.session.jsonl")), ids=name_of)
def test_no_sheet_of_a_recording_shows_the_check_values(path):
    assert not standing_together(text.render(summarise(read_session(path))))


@pytest.mark.parametrize("command", ["", *_COMMANDS])
def test_no_help_shows_the_check_values(command, capsys):
    with pytest.raises(SystemExit):
        main([*command.split(), "--help"])
    shown = capsys.readouterr().out
    assert "benchmon" in shown
    assert not standing_together(shown)


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_the_demo_does_not_show_the_check_values(chapter, capsys, tmp_path):
    """Its sheet; the lines before it pass through every temperature. As fast as simulated time can go."""
    session = tmp_path / "demo.session.jsonl"
    demo.without_screen(["--virtual=1", f"--chapter={chapter}", "--speed=100000", "--every=1s", f"--to={session}"])
    _, begins, sheet = capsys.readouterr().out.partition("Bench sheet")
    assert begins and "all cores" in sheet
    assert not standing_together(sheet)


@pytest.mark.parametrize(
    "planted",
    [
        "benchmon watch --load all --room 24 ... benchmon verdict --part-watts 35",
        "a four-core part, rated 2.40 GHz",
        "In a 24 °C room this cooler holds 22 ± 1 W at its limit of 73 °C.",
        '{"rated_clock_mhz": 2400.0, "temp_limit_c": 73.0}',
        '{"record":"setting","t_s":0,"key":"temp_limit_c","value":73}\n{"record":"mark","kind":"room","value":24}',
        "one core 2.90 GHz: 10 W, 60 °C",
        "0:50  Wall reading 24.0 W.\n1:50  Wall reading 33.0 W.",
    ],
)
def test_it_would_be_noticed(planted):
    assert len(standing_together(planted)) >= 2
