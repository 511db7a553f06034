"""The foot of the paper: what held the processor back, the time axis, and the phases by name."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import PhaseFindings
from benchmon.views.numbers import duration
from benchmon.views.tui.look import Look, Row, Run, cut, width_of
from benchmon.views.tui.palette import CAUSE_LINES, CAUSE_STYLES
from benchmon.views.tui.window import Window
from benchmon.views.words.events import CAUSE_LETTERS
from benchmon.views.words.evidence import CAUSE_WORDS

_Label = tuple[int, list[Run]]
"""First cell, and what stands from there on."""

_LEAST_NAME = 6
"""So many columns of a name, its sign among them, can be read."""


def held_row(events: Sequence[ThrottleEvent], window: Window, cells: int, now_s: float, look: Look) -> list[Run]:
    """Throttled stretches as bars with the cause in letters: one letter where there is room for no more."""
    labels: list[_Label] = []
    for event in sorted(events, key=lambda one: one.start_s):
        first, last = _stretch(event.start_s, event.end_s, window, now_s, look.pen.across)
        if last < 0 or first >= cells:
            continue
        first, last = max(first, 0), min(last, cells - 1)
        labels.append((first, _bar(event, last - first + 1, look)))
    return _laid(labels, cells)


def _bar(event: ThrottleEvent, width: int, look: Look) -> list[Run]:
    """A line in the cause's colour and texture, with its word where there is room, else its letter."""
    style, line = CAUSE_STYLES[event.cause], look.sign(*CAUSE_LINES[event.cause])
    word = f" {CAUSE_WORDS[event.cause]} "
    if width < len(word) + 2:
        return [("strong", CAUSE_LETTERS[event.cause]), (style, line * (width - 1))]
    before = (width - 2 - len(word)) // 2
    after = width - 2 - len(word) - before
    end = line if event.is_open else look.sign("┤", "|")
    return [(style, look.sign("├", "|") + line * before), ("strong", word), (style, line * after + end)]


def phases_row(phases: Sequence[PhaseFindings], window: Window, cells: int, now_s: float, look: Look) -> list[Run]:
    """Names of the phases, each from its beginning."""
    labels: list[_Label] = []
    for phase in phases:
        first, last = _stretch(phase.start_s, phase.end_s, window, now_s, look.pen.across)
        if last < 0 or first >= cells:
            continue
        starts_here = first >= 0
        first = max(first, 0)
        # The name of the phase that lasts may be longer than what has been drawn of it: the paper ahead is empty.
        room = (cells if phase.end_s is None else min(last, cells)) - first
        sign = look.sign("└", "\\") if starts_here else look.sign("← ", "< ")
        labels.append((first, [("strong" if phase.end_s is None else "plain", _name(sign, phase.name, room, look))]))
    return _laid(labels, cells)


def _name(sign: str, name: str, room: int, look: Look) -> str:
    """A phase's name if enough of it fits to be read, else only the sign of its beginning."""
    shown = cut(sign + look.text(name), room - 1, look.sign("…", "."))
    return shown if width_of(shown) >= min(width_of(sign + name), _LEAST_NAME) else sign[: max(room, 1)].rstrip()


def axis_row(ticks: Sequence[float], window: Window, cells: int, beyond: int, look: Look) -> list[Run]:
    """Labels of the time axis, each at its tick; minutes and seconds since the start.

    The last one may end beyond the paper, in the margin of so many columns.
    """
    labels: list[_Label] = []
    free = 0
    for tick in ticks:
        place = window.column(tick) // look.pen.across
        text = duration(tick)
        if place < free or place >= cells or place + len(text) > cells + beyond:
            continue
        labels.append((place, [("plain", text)]))
        free = place + len(text) + 1
    return _laid(labels, cells + beyond)


def _stretch(start_s: float, end_s: float | None, window: Window, now_s: float, across: int) -> tuple[int, int]:
    return window.column(start_s) // across, window.column(now_s if end_s is None else end_s) // across


def _laid(labels: list[_Label], cells: int) -> list[Run]:
    """Labels on an empty line; a later one covers an earlier one's tail."""
    runs: list[Run] = []
    at = 0
    for index, (first, parts) in enumerate(labels):
        limit = labels[index + 1][0] if index + 1 < len(labels) else cells
        if first < at:
            continue
        runs.append(("plain", " " * (first - at)))
        at = first
        for style, text in parts:
            shown = cut(text, max(limit - at, 0), more="")
            runs.append((style, shown))
            at += width_of(shown)
    runs.append(("plain", " " * max(cells - at, 0)))
    return [run for run in runs if run[1]]


def margined(label: str, runs: list[Run], left: int, right: int, look: Look) -> Row:
    """A foot line between the margins of the strips."""
    return (("plain", look.text(label).rjust(left - 2)[: left - 2] + "  "), *runs, ("plain", " " * right))
