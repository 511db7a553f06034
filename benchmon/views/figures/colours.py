"""Colours and textures of pictures, from the same published palettes as the screen's.

Dark: Okabe and Ito, "Color Universal Design" (2008); light: the "muted" scheme of P. Tol, "Colour schemes",
SRON/EPS/TN/09-002 (2021). ``tests/unit/views/test_figures.py`` holds both against the screen's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from benchmon.model.events import Cause


@dataclass(frozen=True, slots=True)
class Look:
    """Ground, ink and the colours of lines, ``#rrggbb`` each."""

    ground: str
    ink: str
    faint: str
    """For edges and rules that must not be louder than what is drawn."""
    lines: Mapping[str, str]
    """Colour of each quantity and cause by the name that the screen's palette gives it."""


LIGHT = Look(
    ground="#ffffff",
    ink="#222222",
    faint="#b8b8b8",
    lines={
        "clock": "#332288",
        "power": "#999933",
        "temp": "#cc6677",
        "work": "#117733",
        "heat": "#882255",
        "limited": "#aa4499",
        "outside": "#555555",
        "unknown": "#777777",
    },
)
DARK = Look(
    ground="#14171a",
    ink="#e6e6e6",
    faint="#5a6066",
    lines={
        "clock": "#56b4e9",
        "power": "#f0e442",
        "temp": "#d55e00",
        "work": "#009e73",
        "heat": "#e69f00",
        "limited": "#0072b2",
        "outside": "#b0b0b0",
        "unknown": "#8c8c8c",
    },
)

CAUSE_LINES = {
    Cause.THERMAL: "heat",
    Cause.POWER_LIMIT: "limited",
    Cause.OUTSIDE: "outside",
    Cause.UNEXPLAINED: "unknown",
}
"""Name of each cause's colour."""
CAUSE_HATCHES = {Cause.THERMAL: "////", Cause.POWER_LIMIT: "----", Cause.OUTSIDE: "....", Cause.UNEXPLAINED: ""}
"""Texture of each cause's stretch: never colour alone."""
