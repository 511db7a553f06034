"""The sheet by itself: every column of every phase, then events, verdict, caveats and entries; it scrolls."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.views.numbers import duration
from benchmon.views.tui.drawing import Drawing
from benchmon.views.tui.look import Row, fit
from benchmon.views.tui.sentences import coming
from benchmon.views.tui.sheet_rows import table_rows
from benchmon.views.tui.wrapping import wrapped
from benchmon.views.words.caveats import doubts
from benchmon.views.words.events import event_details, event_sentence
from benchmon.views.words.records import mark_sentence
from benchmon.views.words.verdict import verdict

_INDENT = "  "


def sheet_page(drawing: Drawing, rows: int) -> list[Row]:
    """As much of the sheet as fits in ``rows`` lines, from where it was scrolled to; the last one tells of the rest."""
    view, width, look = drawing.view, drawing.width, drawing.look
    lines = _lines(drawing)
    room = rows if len(lines) <= rows else rows - 1
    view.sheet_room = room
    view.sheet_top = max(min(view.sheet_top, len(lines) - room), 0)
    shown = lines[view.sheet_top : view.sheet_top + room]
    if len(lines) > rows:
        last = view.sheet_top + len(shown)
        keys = f"{look.sign('↑↓', 'up down')} pgup pgdn"
        words = [
            ("plain", f"  lines {view.sheet_top + 1} to {last} of {len(lines)} · "),
            ("key", keys),
            ("plain", f"{look.sign('›', ':')}scroll"),
        ]
        shown.append(fit(words, width, look))
    return shown + [fit([], width, look)] * (rows - len(shown))


def _lines(drawing: Drawing) -> list[Row]:
    state = drawing.state
    found = state.conclusion
    ended_s = state.end.t_s if state.end is not None else None
    lines = table_rows(drawing)
    events = sorted(state.events.values(), key=lambda event: event.start_s)
    for event in events:
        told = [event_sentence(event, ended_s), *event_details(event)]
        lines += _part(f"Throttle event {event.number} of {len(events)}", told, drawing)
    if found is not None:
        lines += _part("Verdict", verdict(found), drawing)
        lines += _part("Caveats", doubts(found), drawing)
    else:
        lines += _part("So far", [coming(state)], drawing)
    marks = [f"{duration(mark.t_s):>7}  {mark_sentence(mark, listed=True)}" for mark in state.marks.entered()]
    return lines + _part("Entries", marks, drawing)


def _part(heading: str, sentences: Sequence[str], drawing: Drawing) -> list[Row]:
    """An empty line, the heading, and the sentences below it; nothing where there are none."""
    width, look = drawing.width, drawing.look
    told = [text for text in sentences if text]
    if not told:
        return []
    lines = [fit([], width, look), fit([("strong", _INDENT + heading)], width, look)]
    for text in told:
        folded = wrapped(look.text(text.strip()), width - 2 * len(_INDENT) - 2, _INDENT)
        lines += [fit([("plain", _INDENT + line)], width, look) for line in folded]
    return lines
