"""How hot each kind of built-in work is on this machine, as text of 80 columns or as JSON."""

from __future__ import annotations

from textwrap import wrap
from typing import Any

from benchmon.analysis.kind_heat import KIND_S, SKIPPED_S, KindHeat, KindHeats, hottest
from benchmon.model import keys
from benchmon.model.units import Unit
from benchmon.model.work_kinds import FLOATING_KINDS
from benchmon.views.doors import json_text, terminal
from benchmon.views.numbers import NOT_READ, clock_ghz, plain, quantity
from benchmon.views.words.records import missing_words
from benchmon.views.words.work import in_billions

_WIDTH = 80
_HEADINGS = ("kind of work", "package", "clock", "temp at end", "rate")
_WIDTHS = (14, 10, 11, 13, 26)
_MOST_TAKEN_PCT = 95.0


def as_text(heats: KindHeats, ended: str) -> str:
    """A line for idling and for each kind, then what is missing and what went wrong.

    Args:
        heats: what was collected.
        ended: what ended it too early; empty if nothing did.
    """
    lines = ["How hot each kind of work is here, all cores", _line(*_HEADINGS)]
    lines += [_row(heat) for heat in (heats.idle, *heats.kinds)]
    lines.append("")
    top = None if ended else hottest(heats)
    if top is not None:
        power = quantity(top.mean(keys.PACKAGE_POWER), Unit.WATT)
        lines += _paragraph(f"Most package power: {top.kind}, {power}.")
    for sentence in remarks(heats, ended):
        lines += _paragraph(sentence)
    lines += _paragraph(
        f"Means after the first {SKIPPED_S:g} s of {KIND_S:g} s. Nothing has settled in so short a time:"
        " the figures rank the kinds, they do not say what the cooling can hold."
    )
    return terminal("\n".join(line.rstrip() for line in lines)) + "\n"


def remarks(heats: KindHeats, ended: str) -> list[str]:
    """What must be known to believe the figures, a sentence each."""
    told = []
    missing = missing_words(heats.read)
    if missing:
        told.append(f"Not read here: {', '.join(missing)} (benchmon channels says why).")
    for heat in heats.kinds:
        if heat.load is not None and heat.load.reason:
            told.append(f"{heat.kind}: {heat.load.reason}.")
        if heat.cut_short:
            told.append(f"{heat.kind} was cut short: {heat.cut_short}.")
        share = heat.mean(keys.WORK_SHARE)
        if share is not None and share < _MOST_TAKEN_PCT:
            told.append(f"Other programs took {100.0 - share:.0f} % of the cores' time from {heat.kind}.")
    if ended:
        told.append(f"Ended before all kinds had run: {ended}.")
    return told


def as_json(heats: KindHeats, ended: str) -> str:
    """The same for programs; null = not read."""
    top = None if ended else hottest(heats)
    document = {
        "idle": _readings(heats.idle),
        "kinds": [_kind(heat) for heat in heats.kinds],
        "most_power": None if top is None else top.kind,
        "remarks": remarks(heats, ended),
        "complete": not ended,
    }
    return json_text(document, indent=2) + "\n"


def _readings(heat: KindHeat) -> dict[str, Any]:
    return {
        "package_power_w": heat.mean(keys.PACKAGE_POWER),
        "clock_mhz": heat.mean(keys.CLOCK),
        "temp_at_end_c": heat.last_temp_c,
    }


def _kind(heat: KindHeat) -> dict[str, Any]:
    operations, moved = _rates(heat)
    return {
        "work": heat.kind,
        **_readings(heat),
        "work_gflop_per_s": operations if heat.kind in FLOATING_KINDS else None,
        "work_gop_per_s": operations,
        "work_gbyte_per_s": moved,
        "work_share_pct": heat.mean(keys.WORK_SHARE),
        "cut_short": heat.cut_short or None,
    }


def _rates(heat: KindHeat) -> tuple[float | None, float | None]:
    load = heat.load
    if load is None:
        return None, None
    return heat.in_billions(load.unit_operations), heat.in_billions(load.unit_bytes)


def _row(heat: KindHeat) -> str:
    operations, moved = _rates(heat)
    parts = [] if operations is None else [in_billions(heat.kind, operations, None)]
    parts += [] if moved is None else [f"{plain(moved, 2)} GB/s"]
    return _line(
        heat.kind or "idle",
        quantity(heat.mean(keys.PACKAGE_POWER), Unit.WATT),
        clock_ghz(heat.mean(keys.CLOCK)),
        quantity(heat.last_temp_c, Unit.CELSIUS),
        ", ".join(parts) or NOT_READ,
    )


def _line(first: str, *rest: str) -> str:
    cells = zip(rest, _WIDTHS[1:], strict=True)
    return f"{first:<{_WIDTHS[0]}}" + "".join(f"{cell:>{width}}" for cell, width in cells)


def _paragraph(text: str) -> list[str]:
    return wrap(text, _WIDTH, break_on_hyphens=False)
