"""What lies over the sheet when asked for: help, one event's evidence, the list of entries."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model.records import Mark
from benchmon.views.numbers import duration
from benchmon.views.tui.drawing import Surroundings
from benchmon.views.tui.help import KEY_COLUMNS, help_lines
from benchmon.views.tui.look import Look, Row, fit, width_of
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import Panel, View
from benchmon.views.tui.wrapping import wrapped
from benchmon.views.words.events import event_details, event_sentence
from benchmon.views.words.records import mark_sentence


def panel_lines(state: ViewState, view: View, around: Surroundings, width: int) -> list[str]:
    """Text of the open panel, wrapped; the first line is its title."""
    indent = ""
    if view.panel is Panel.HELP:
        lines, indent = (
            help_lines(around.live, bool(around.playing), can_enter=around.can_enter),
            " " * (KEY_COLUMNS + 1),
        )
    elif view.panel is Panel.EVENT:
        lines, indent = _event_lines(state, view.event), "  "
    else:
        return _entry_lines(state, view)
    wide = max(width - 4, 20)
    folded: list[str] = []
    for line in lines:
        folded += wrapped(line, wide, indent) or [""]
    return folded


def panel_rows(lines: Sequence[str], view: View, width: int, rows: int, look: Look) -> list[Row]:
    """The panel in its place: a title rule, as many lines as fit, and how to see the rest."""
    body = list(lines[1:])
    room = max(rows - 1, 1)
    if view.panel is Panel.ENTRIES:
        view.panel_top = max(view.entry - room + 1, min(view.panel_top, view.entry))
    is_help = view.panel is Panel.HELP
    # The last page of the help stays a page of its own; anything else is scrolled no farther than its end.
    view.panel_top = max(min(view.panel_top, len(body) - (1 if is_help else room)), 0)
    view.panel_room, view.panel_lines = room, len(body)
    shown = body[view.panel_top : view.panel_top + room]
    more = "" if len(body) <= room else _more(view, len(body), room)
    rule = look.sign("─", "-")
    title = f"{rule}{rule} {lines[0]}{more} · esc closes "
    drawn = [fit([("plain", title), ("rule", rule * (width - width_of(title)))], width, look)]
    chosen = view.entry + 1 if view.panel is Panel.ENTRIES else -1
    for index, line in enumerate(shown, start=view.panel_top + 1):
        style = "strong!" if index == chosen else "strong" if is_help and line[:1] != " " else "plain"
        drawn.append(fit([(style, "  " + line)], width, look))
    return (drawn + [fit([], width, look)] * rows)[:rows]


def _more(view: View, lines: int, room: int) -> str:
    """Where one is in what does not fit, and how to see the rest."""
    if view.panel is Panel.HELP:
        return f" · page {-(-view.panel_top // room) + 1} of {-(-lines // room)}, ? turns"
    return f" · lines {view.panel_top + 1} to {min(view.panel_top + room, lines)} of {lines}, up and down scroll"


def listed_marks(state: ViewState) -> list[Mark]:
    """The entries that stand, newest first."""
    return list(state.marks.entered()[::-1])


def _event_lines(state: ViewState, number: int | None) -> list[str]:
    event = state.events.get(number) if number is not None else None
    if event is None:
        return ["No throttle event", "The processor has not been throttled so far."]
    title = f"Event {event.number} of {len(state.events)}"
    return [title, event_sentence(event), *event_details(event)]


def _entry_lines(state: ViewState, view: View) -> list[str]:
    marks = listed_marks(state)
    if not marks:
        return ["Entries", "Nothing has been entered yet."]
    view.entry = max(min(view.entry, len(marks) - 1), 0)
    return [
        "Entries · enter corrects, delete withdraws",
        *(f"{mark.number:>3}  {duration(mark.t_s):>7}  {mark_sentence(mark, listed=True)}" for mark in marks),
    ]
