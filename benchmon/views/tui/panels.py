"""What lies over the sheet when asked for: help, one event's evidence, the list of entries."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from benchmon.model.records import Mark
from benchmon.views.numbers import duration
from benchmon.views.tui.look import Look, Row, fit
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import Panel, View
from benchmon.views.words import event_details, event_sentence, mark_sentence

_HELP_LIVE = """\
i, 1, a, c  a phase begins now: idle, one core, all cores, cool-down; p one with a name of your own
b  the latest phase began 10 s earlier than marked; press again for 20 s, and so on
w  watts at the wall    r  room temperature    s  a benchmark's score    n  a note    t  a tag such as paste=fresh
   End any of these with “10 s ago” if it was earlier.
e  the entries: up and down choose, enter corrects, delete withdraws. The file keeps what was written before.
l  start the load or change it    x  stop the load"""
_HELP_REPLAY = """\
space  stop and go on    < >  play slower, faster    enter  play from the cursor    j  go to a time"""
_HELP_BOTH = """\
left, right  read any instant, a dot column at a time; comma and full stop step by single samples; esc puts it away
+ -  faster and slower paper    page up, page down  earlier and later    home  the start    0, end  back to now
f  the whole run on one sheet    [ ]  from throttle event to throttle event    o  what an event is concluded from
space  hold the drawing still (the recording goes on)    v  traces, sheet, or both    d  the earlier run behind, or not
q  leave the screen; it asks whether the recording goes on"""
_READING = """\
How to read the paper: each dot column holds the least and the greatest of its readings, so the shortest dip shows at any zoom.
Where nothing was read the line is open. Dotted: the earlier run. A bar under the traces: held back, and by what
(H heat, P power limit, O from outside, ? unexplained).
Take care: heatsinks and supplies stay hot after a run, fans bite, a wall meter carries mains voltage."""


def panel_lines(state: ViewState, view: View, live: bool, width: int) -> list[str]:
    """Text of the open panel, wrapped; the first line is its title."""
    if view.panel is Panel.HELP:
        lines = ["Keys and signs", *(_HELP_LIVE if live else _HELP_REPLAY).splitlines(), *_HELP_BOTH.splitlines()]
        if not live:
            lines.remove(
                "space  hold the drawing still (the recording goes on)    v  traces, sheet, or both    d  the earlier run behind, or not"
            )
            lines.insert(-1, "v  traces, sheet, or both    d  the earlier run behind, or not    e  the entries")
            lines[-1] = "q  leave the screen"
        lines += _READING.splitlines()
    elif view.panel is Panel.EVENT:
        lines = _event_lines(state, view.event)
    else:
        lines = _entry_lines(state, view)
    wide = max(width - 4, 20)
    wrapped: list[str] = []
    for line in lines:
        wrapped += textwrap.wrap(line, wide, subsequent_indent="   ", drop_whitespace=True) or [""]
    return wrapped


def panel_rows(lines: Sequence[str], view: View, width: int, rows: int, look: Look) -> list[Row]:
    """The panel in its place: a title rule, as many lines as fit, and how to see the rest."""
    body = list(lines[1:])
    room = max(rows - 1, 1)
    view.panel_top = max(min(view.panel_top, len(body) - room), 0)
    shown = body[view.panel_top : view.panel_top + room]
    more = (
        "" if len(body) <= room else f" · {view.panel_top + len(shown)} of {len(body)} lines, up and down for the rest"
    )
    rule = look.sign("─", "-")
    title = f"{rule}{rule} {lines[0]}{more} · esc closes "
    drawn = [fit([("dim", (title + rule * width)[:width])], width, look)]
    chosen = view.entry + 1 if view.panel is Panel.ENTRIES else -1
    for index, line in enumerate(shown, start=view.panel_top + 1):
        drawn.append(fit([("strong!" if index == chosen else "plain", "  " + line)], width, look))
    return (drawn + [fit([], width, look)] * rows)[:rows]


def listed_marks(state: ViewState) -> list[Mark]:
    """The entries that stand, newest first."""
    return state.standing_marks()[::-1]


def _event_lines(state: ViewState, number: int | None) -> list[str]:
    event = state.events.get(number) if number is not None else None
    if event is None:
        return ["No throttle event", "Nothing has held the processor back so far."]
    title = f"Event {event.number} of {len(state.events)}"
    return [title, event_sentence(event), *event_details(event)]


def _entry_lines(state: ViewState, view: View) -> list[str]:
    marks = listed_marks(state)
    if not marks:
        return ["Entries", "Nothing has been entered yet."]
    view.entry = max(min(view.entry, len(marks) - 1), 0)
    return [
        "Entries · enter corrects, delete withdraws",
        *(f"{mark.number:>3}  {duration(mark.t_s):>7}  {mark_sentence(mark)}"[:120] for mark in marks),
    ]
