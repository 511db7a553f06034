"""The only place where a number becomes text: rounding to what the sensor can resolve, units, "–" for not read."""

from __future__ import annotations

from math import floor, isfinite, log10
from typing import Protocol

from benchmon.model.units import Unit

NOT_READ = "–"
"""Shown where nothing was read; never 0."""

_DECIMALS = {
    Unit.CELSIUS: 1,
    Unit.MEGAHERTZ: 0,
    Unit.WATT: 1,
    Unit.JOULE: 0,
    Unit.RPM: 0,
    Unit.PERCENT: 0,
    Unit.COUNT: 0,
    Unit.PER_SECOND: 1,
    Unit.SECOND: 1,
    Unit.MILLISECOND: 0,
    Unit.STEP: 0,
}
"""Decimals where the resolution of the source is not known."""


def decimals_for(unit: Unit, resolution: float | None = None) -> int:
    """Decimals that show no more than the source resolves, and never more than the unit's usual ones.

    Args:
        unit: unit of the quantity.
        resolution: smallest step of the source in that unit; None if not known.
    """
    usual = _DECIMALS[unit]
    if resolution is None or resolution <= 0:
        return usual
    return max(0, min(usual, -floor(log10(resolution) + 1e-9)))


def plain(value: float | None, decimals: int) -> str:
    """A number without unit; ``–`` for None or a value that is no number."""
    if value is None or not isfinite(value):
        return NOT_READ
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")


def quantity(value: float | None, unit: Unit, resolution: float | None = None) -> str:
    """A number with its unit: ``38.9 W``, ``82 °C``, ``2790 MHz``; ``–`` for None.

    >>> quantity(38.94, Unit.WATT)
    '38.9 W'
    >>> quantity(82.0, Unit.CELSIUS, 1.0)
    '82 °C'
    >>> quantity(None, Unit.WATT)
    '–'
    """
    text = plain(value, decimals_for(unit, resolution))
    if text == NOT_READ or not unit.symbol:
        return text
    return f"{text}{'' if unit is Unit.PERCENT else ' '}{unit.symbol}"


def clock_ghz(value_mhz: float | None) -> str:
    """A clock as people say it: ``3.50 GHz``; ``–`` for None."""
    return NOT_READ if value_mhz is None else f"{value_mhz / 1000:.2f} GHz"


def duration(seconds: float | None) -> str:
    """A length of time, ``0:40``, ``6:12``, ``1:02:05``; ``–`` for None. Fractions are dropped."""
    if seconds is None or not isfinite(seconds):
        return NOT_READ
    sign = "\N{MINUS SIGN}" if seconds < 0 else ""
    whole = int(abs(seconds) + 1e-6)
    hours, rest = divmod(whole, 3600)
    minutes, secs = divmod(rest, 60)
    return f"{sign}{hours}:{minutes:02d}:{secs:02d}" if hours else f"{sign}{minutes}:{secs:02d}"


class Interval(Protocol):
    """A computed number with its 95 % interval, or the reason why there is none: as ``Figure``, or as it is kept."""

    @property
    def value(self) -> float | None:
        """The number."""

    @property
    def low(self) -> float | None:
        """Where the interval begins."""

    @property
    def high(self) -> float | None:
        """Where it ends."""

    @property
    def why_not(self) -> str | None:
        """Why there is no number."""


def half_width(figure: Interval) -> float | None:
    """Half of the 95 % interval, the larger side; None where there is no figure or no interval."""
    if figure.value is None or figure.low is None or figure.high is None:
        return None
    return max(figure.high - figure.value, figure.value - figure.low)


def figure_text(figure: Interval, unit_symbol: str, least_decimals: int = 0, most_decimals: int = 2) -> str:
    """A computed figure with its uncertainty, rounded so that the uncertainty has one or two digits: ``38.9 ± 0.8 W``.

    Args:
        figure: value with its 95 % interval; its reason is returned where there is no value.
        unit_symbol: written behind; empty for none.
        least_decimals: never fewer decimals than this.
        most_decimals: never more.

    >>> from benchmon.model.findings import Figure
    >>> figure_text(Figure(38.93, 38.2, 39.7), "W")
    '38.9 ± 0.8 W'
    >>> figure_text(Figure(why_not="no room temperature"), "W")
    '– (no room temperature)'
    """
    if figure.value is None:
        return f"{NOT_READ} ({figure.why_not})" if figure.why_not else NOT_READ
    unit = f" {unit_symbol}" if unit_symbol else ""
    half = half_width(figure)
    if not half or not isfinite(half):
        return f"{plain(figure.value, max(least_decimals, 1))}{unit}"
    places = max(least_decimals, min(most_decimals, -floor(log10(half))))
    return f"{plain(figure.value, places)} ± {plain(half, places)}{unit}"


def room_number(room_c: float | None) -> str:
    """A room temperature as it was typed: ``23.5``, ``19``; ``–`` for None.

    >>> room_number(23.5), room_number(19.0)
    ('23.5', '19')
    """
    if room_c is None or not isfinite(room_c):
        return NOT_READ
    return plain(room_c, 0 if abs(room_c - round(room_c)) < 0.05 else 1)


def room_text(room_c: Interval) -> str:
    """A room temperature with its uncertainty, as fine as it was typed: ``23.5 ± 1.0 °C``."""
    return figure_text(room_c, "°C", 1 if "." in room_number(room_c.value) else 0, 1)


def share(value: float | None) -> str:
    """A share 0 … 1 as per cent: ``38%``; ``–`` for None."""
    return NOT_READ if value is None else f"{value * 100:.0f}%"


def counted(count: int, noun: str) -> str:
    """``1 gap``, ``2 gaps``."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def plain_ascii(text: str) -> str:
    """The same words for terminals and readers without UTF-8."""
    for fancy, simple in _ASCII.items():
        text = text.replace(fancy, simple)
    return text.encode("ascii", "replace").decode("ascii")


_ASCII = {
    NOT_READ: "-",
    "—": "-",
    "\N{MINUS SIGN}": "-",
    "°C": "degC",
    "±": "+/-",
    "→": "->",
    "·": "*",
    "×": "x",
    "≤": "<=",
    "≥": ">=",
    "²": "2",
    "…": "...",
    "“": '"',
    "”": '"',
    "’": "'",
    "µ": "u",
    "Δ": "d",
    "█": "#",
    "│": "|",
    "─": "-",
    "┄": "-",
}
