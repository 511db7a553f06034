"""Colours by calculation: contrast of text and lines, and how far lines stay apart for people who see no red or no green.

Formulas and tables from outside: relative luminance and contrast ratio (WCAG 2.2, "relative luminance", "contrast ratio");
least contrast 4.5 for text (1.4.3) and 3 for graphics (1.4.11); simulation of colour-vision deficiency at full severity
(G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, IEEE TVCG 15 (2009), 1291-1298, table of matrices); L*a*b* with D65 and
its distance (CIE 1976), of which about 2.3 is just noticed (M. Mahy, L. Van Eycken, A. Oosterlinck, Color Res. Appl. 19
(1994), 105-121); the 256 colours of xterm (256colres.h); the sixteen of the kernel's console (drivers/tty/vt/vt.c,
default_red, default_grn, default_blu). Tables from memory.
"""

from __future__ import annotations

from itertools import combinations
from math import dist

import pytest

from benchmon.model.events import Cause
from benchmon.views.traces import BLOCKS, LINE, PLAIN
from benchmon.views.tui.canvas import StyleBook
from benchmon.views.tui.drawing import Surroundings
from benchmon.views.tui.look import Look
from benchmon.views.tui.page import draw_page
from benchmon.views.tui.palette import CAUSE_LINES, CAUSE_STYLES, DARK, LIGHT, NONE, SIXTEEN, palette_for
from benchmon.views.tui.prompts import Ask, Prompt
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import Mode, Panel, View
from tests.support.bench_session import Bench, ScriptedAnalyst, bench_records

CONSOLE = {
    "bright_red": (255, 85, 85),
    "bright_yellow": (255, 255, 85),
    "bright_blue": (85, 85, 255),
    "bright_magenta": (255, 85, 255),
    "bright_cyan": (85, 255, 255),
}
WITHOUT_RED = ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998))
WITHOUT_GREEN = ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881))
THEMES = {
    "dark": (DARK, ((0, 0, 0), (30, 30, 30), (40, 42, 54)), (208, 208, 208)),
    "light": (LIGHT, ((255, 255, 255), (253, 246, 227)), (0, 0, 0)),
    "sixteen": (SIXTEEN, ((0, 0, 0),), (170, 170, 170)),
}
"""Name → palette, usual backgrounds, ink of such a terminal."""
APART = 18.0
"""Eight times what is just noticed."""


def rgb(colour: str) -> tuple[int, int, int]:
    if not colour.startswith("color("):
        return CONSOLE[colour]
    place = int(colour[6:-1]) - 16
    levels = (0, 95, 135, 175, 215, 255)
    return levels[place // 36], levels[place // 6 % 6], levels[place % 6]


def linear(colour) -> list[float]:
    shares = [part / 255 for part in colour]
    return [share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares]


def contrast(one, other) -> float:
    bright = sorted(sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear(x), strict=True)) for x in (one, other))
    return (bright[1] + 0.05) / (bright[0] + 0.05)


def lab(colour, seen_by) -> tuple[float, float, float]:
    whole = linear(colour)
    red, green, blue = (min(max(sum(m * c for m, c in zip(row, whole, strict=True)), 0.0), 1.0) for row in seen_by)

    def f(part: float) -> float:
        return part ** (1 / 3) if part > (6 / 29) ** 3 else part / (3 * (6 / 29) ** 2) + 4 / 29

    x = f((0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505)
    y = f(0.2126 * red + 0.7152 * green + 0.0722 * blue)
    z = f((0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.0890)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def apart(one, other) -> float:
    return min(dist(lab(one, eyes), lab(other, eyes)) for eyes in (WITHOUT_RED, WITHOUT_GREEN))


def test_the_formulas_give_what_is_known():
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)  # WCAG 2.2: contrast ratios range from 1 to 21
    assert contrast((170, 0, 0), (0, 0, 0)) == pytest.approx(2.7, abs=0.05)  # why no text is in the console's red
    for eyes in (WITHOUT_RED, WITHOUT_GREEN):
        assert all(sum(row) == pytest.approx(1.0, abs=1e-5) for row in eyes)  # greys stay as they are
    assert apart((170, 0, 0), (170, 85, 0)) < APART < apart((170, 0, 0), (0, 0, 170))


@pytest.mark.parametrize("theme", THEMES)
def test_lines_can_be_seen(theme):
    palette, grounds, _ = THEMES[theme]
    for name, colour in palette.items():
        for ground in grounds:
            assert contrast(rgb(colour), ground) >= 3.0, (name, ground)


@pytest.mark.parametrize("theme", THEMES)
def test_lines_stay_apart_without_red_or_green(theme):
    palette, _, ink = THEMES[theme]
    lines = {name: rgb(colour) for name, colour in palette.items()} | {"outside": ink}
    assert {"temp", "power", "clock", "heat", "limited", "outside"} <= lines.keys()
    for one, other in combinations(lines, 2):
        assert apart(lines[one], lines[other]) >= APART, (one, other)


@pytest.mark.parametrize("theme", THEMES)
def test_a_terminals_own_ink_can_be_read(theme):
    _, grounds, ink = THEMES[theme]
    assert all(contrast(ink, ground) >= 4.5 for ground in grounds)


@pytest.mark.parametrize("palette", [DARK, LIGHT, SIXTEEN, NONE])
@pytest.mark.parametrize("pen", [LINE, BLOCKS, PLAIN])
def test_all_text_is_in_the_terminals_own_ink(palette, pen):
    """Neither coloured nor dim: its contrast is the theme's own, whatever the theme."""
    look, book = Look(pen, ascii_only=pen is PLAIN, palette=palette), StyleBook(palette)
    state = ViewState(ScriptedAnalyst)
    for record in bench_records(Bench(until_s=330.0)):
        state.apply(record)
    views = [View(mode=mode) for mode in Mode] + [View(panel=panel) for panel in Panel] + [View(cursor_s=200.0)]
    views += [View(prompt=Prompt(ask, "words")) for ask in Ask]
    drawn = set("".join((*look.pen.glyphs, *look.pen.ruling)))
    for view in views:
        for size in ((140, 45), (80, 24)):
            for row in draw_page(state, view, Surroundings(live=True), size, look):
                for name, text in row:
                    style = book.style(name)
                    if style.color is not None or style.dim:
                        assert not {letter for letter in text if letter.isalnum()} - drawn, (name, text)


def test_no_cause_is_told_by_colour_alone():
    assert CAUSE_STYLES.keys() == CAUSE_LINES.keys() == set(Cause)
    for kind in (0, 1):
        assert len({lines[kind] for lines in CAUSE_LINES.values()}) == len(Cause)


@pytest.mark.parametrize(
    ("environment", "palette"),
    [
        ({"TERM": "xterm-256color"}, DARK),
        ({"TERM": "screen", "COLORTERM": "truecolor"}, DARK),
        ({"TERM": "xterm-256color", "COLORFGBG": "0;15"}, LIGHT),
        ({"TERM": "xterm-256color", "COLORFGBG": "15;default;0"}, DARK),
        ({"TERM": "linux"}, SIXTEEN),
        ({"TERM": "linux", "NO_COLOR": "1"}, NONE),
        ({"TERM": "vt220"}, NONE),
    ],
)
def test_the_palette_follows_the_terminal(environment, palette):
    assert palette_for(environment) == palette
