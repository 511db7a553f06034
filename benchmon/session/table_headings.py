"""Which column of a table is what, and in which unit: from its heading, or as a person tells."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from benchmon.errors import UsageError
from benchmon.plain_text import one_line
from benchmon.session.table_columns import CHANNELS, SETTINGS, TIME

_MHZ = {"mhz": (1.0, 0.0), "ghz": (1e3, 0.0), "khz": (1e-3, 0.0), "hz": (1e-6, 0.0)}
_WATT = {"w": (1.0, 0.0), "mw": (1e-3, 0.0), "uw": (1e-6, 0.0), "kw": (1e3, 0.0)}
_CELSIUS = {"c": (1.0, 0.0), "mc": (1e-3, 0.0), "f": (5 / 9, -160 / 9), "k": (1.0, -273.15)}
_SECOND = {"s": (1.0, 0.0), "ms": (1e-3, 0.0), "us": (1e-6, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0)}
_PERCENT = {"pct": (1.0, 0.0), "%": (1.0, 0.0), "share": (100.0, 0.0)}
_UNITS: Mapping[str, tuple[str, Mapping[str, tuple[float, float]]]] = {
    "t_s": ("t", _SECOND),
    "clock_mhz": ("clock", _MHZ),
    "power_w": ("power", _WATT),
    "wall_w": ("wall", _WATT),
    "power_limit_w": ("power_limit", _WATT),
    "temp_c": ("temp", _CELSIUS),
    "room_c": ("room", _CELSIUS),
    "temp_limit_c": ("temp_limit", _CELSIUS),
    "load_pct": ("load", _PERCENT),
}
"""Name → its stem in headings, and unit → factor and offset to ours; Fahrenheit and kelvin by definition (BIPM, SI)."""
_BRACKETED = re.compile(r"^(.*?)\s*[\[(]\s*([^\])]*)\s*[\])]$")
NAMES = (TIME, *CHANNELS, *SETTINGS)
"""What a column may be."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What a column is taken for."""

    heading: str
    name: str
    factor: float = 1.0
    offset: float = 0.0
    """Ours = factor · number + offset."""
    unit: str = ""
    """As it was written, if it is another than ours."""


def parse_map(text: str) -> tuple[str, tuple[str, str]]:
    """``Core max [°F]=temp_c`` or ``Core max=temp_c:F`` → heading, name and unit.

    Raises:
        UsageError: if the name or the unit is not known.
    """
    heading, equals, what = text.rpartition("=")
    name, _, unit = what.strip().partition(":")
    name = {"time": TIME}.get(name.strip().lower(), name.strip().lower())
    if not equals or not heading.strip() or name not in NAMES:
        raise UsageError(
            f"{one_line(text, 60)!r} maps no column",
            f"Write HEADING=NAME or HEADING=NAME:UNIT; names are {', '.join(NAMES)}.",
        )
    if unit and _factor(name, unit) is None:
        known = ", ".join(_UNITS[name][1]) if name in _UNITS else "none"
        raise UsageError(f"{name} has no unit {one_line(unit, 20)!r}", f"Units of it are: {known}.")
    return one_line(heading.strip(), 200).lower(), (name, unit)


def taken_columns(headings: Sequence[str], mapped: Mapping[str, tuple[str, str]]) -> dict[int, Taken]:
    """Place of each column that is taken, and what for.

    Raises:
        UsageError: if a heading that was mapped is not there.
    """
    missing = [heading for heading in mapped if heading not in headings]
    if missing:
        raise UsageError(
            f"the table has no column {missing[0][:60]!r}",
            f"It has: {', '.join(heading[:40] for heading in headings[:20])}.",
        )
    told = {name for name, _ in mapped.values()}
    taken = {}
    for place, heading in enumerate(headings):
        found = _told(heading, *mapped[heading]) if heading in mapped else _guessed(heading)
        if found is not None and (heading in mapped or found.name not in told):
            taken[place] = found
    return taken


def _told(heading: str, name: str, unit: str) -> Taken:
    bracketed = _BRACKETED.match(heading)
    if not unit and bracketed is not None and _factor(name, bracketed[2]) is not None:
        unit = bracketed[2]
    return _taken(heading, name, unit)


def _guessed(heading: str) -> Taken | None:
    """Only names of our own, in our unit or another: a stranger's heading is never guessed at."""
    if heading in NAMES:
        return Taken(heading, heading)
    for name, (stem, units) in _UNITS.items():
        for unit in units:
            if heading == f"{stem}_{unit}":
                return _taken(heading, name, unit)
    return None


def _taken(heading: str, name: str, unit: str) -> Taken:
    factor, offset = _factor(name, unit) or (1.0, 0.0)
    return Taken(heading, name, factor, offset, unit if (factor, offset) != (1.0, 0.0) else "")


def _factor(name: str, unit: str) -> tuple[float, float] | None:
    plain = unit.strip().lower().removeprefix("°").replace("µ", "u").replace("μ", "u").replace("m°", "m")
    return _UNITS[name][1].get(plain) if name in _UNITS else None
