"""Colours of lines, chosen so that people with any common colour vision tell them apart. Text has no colour.

Text is in the terminal's own ink, so its contrast is that of the terminal's theme. Colour is for lines alone: traces,
edges, bars. On any usual background of its kind a line has a contrast of 3 or more (WCAG 2.2, 1.4.11), and
any two lines stay apart for red-green deficiency (simulated in ``tests/unit/views/test_palette.py``).

Sources: on dark terminals the palette of Okabe and Ito ("Color Universal Design", 2008); on light ones the "muted"
scheme of P. Tol ("Colour schemes", SRON/EPS/TN/09-002, 2021), each as the nearest of the 256 colours that terminals
have in common. On consoles of sixteen colours the six that are bright enough and stay apart.
"""

from __future__ import annotations

from collections.abc import Mapping

from benchmon.model.events import Cause

Palette = Mapping[str, str]
"""Style name → colour as the toolkit calls it; what is not in it has the terminal's own ink."""

DARK: Palette = {
    "clock": "color(74)",  # sky blue
    "power": "color(227)",  # yellow
    "temp": "color(166)",  # vermillion
    "work": "color(36)",  # bluish green
    "heat": "color(214)",  # orange
    "limited": "color(32)",  # blue
}
LIGHT: Palette = {
    "clock": "color(17)",  # indigo
    "power": "color(100)",  # olive
    "temp": "color(168)",  # rose
    "work": "color(22)",  # green
    "heat": "color(89)",  # wine
    "limited": "color(133)",  # purple
}
SIXTEEN: Palette = {
    "clock": "bright_cyan",
    "power": "bright_yellow",
    "temp": "bright_red",
    "heat": "bright_magenta",
    "limited": "bright_blue",
}
NONE: Palette = {}

CAUSE_STYLES = {
    Cause.THERMAL: "heat",
    Cause.POWER_LIMIT: "limited",
    Cause.OUTSIDE: "outside",
    Cause.UNEXPLAINED: "unknown",
}
"""Style of each cause's line: never the only sign, see ``CAUSE_LINES``."""
CAUSE_LINES = {
    Cause.THERMAL: ("═", "="),
    Cause.POWER_LIMIT: ("─", "-"),
    Cause.OUTSIDE: ("·", "~"),
    Cause.UNEXPLAINED: (" ", " "),
}
"""Texture of each cause's line, and its plain stand-in."""

_COLOURLESS = {"dumb", "vt100", "vt220"}
_LIGHT_GROUNDS = {"7", "15"}


def palette_for(environment: Mapping[str, str]) -> Palette:
    """The palette by what the environment tells: NO_COLOR, TERM, COLORTERM, and COLORFGBG for the background."""
    term = environment.get("TERM", "")
    if environment.get("NO_COLOR") or term in _COLOURLESS:
        return NONE
    if not (environment.get("COLORTERM") in {"truecolor", "24bit"} or term.endswith("256color")):
        return SIXTEEN
    ground = environment.get("COLORFGBG", "").rpartition(";")[2]
    return LIGHT if ground in _LIGHT_GROUNDS else DARK
