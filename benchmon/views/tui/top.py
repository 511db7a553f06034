"""The top of the screen: one heading line, and a few lines of plain words."""

from __future__ import annotations

from benchmon.views.tui.drawing import Drawing
from benchmon.views.tui.headings import heading_left, heading_right, reading_at, tag_words, time_words
from benchmon.views.tui.look import Row, Run, cut, fit, spread, width_of
from benchmon.views.tui.palette import CAUSE_STYLES
from benchmon.views.tui.sentences import coming, concluded, happening
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.wrapping import laid_out, wrapped
from benchmon.views.words.events import event_sentence

_LEAST_NAME = 10


def heading_row(drawing: Drawing) -> Row:
    """What is on the bench at the left, readings at the right; what matters less is left out on narrow terminals."""
    state, look = drawing.state, drawing.look
    told = look.text("".join(f" · {note}" for note in _notes(drawing)))
    name = look.text(f" {heading_left(state)}")
    parts = heading_right(state, drawing.around.screen_cost_pct, playing=bool(drawing.around.playing))

    def room_left() -> int:
        taken = sum(3 + sum(width_of(look.text(text)) for _, text in part) for part in parts)
        return drawing.width - taken - width_of(told)

    lead = look.text(f" {_name_of(state)}")  # readings are worth more than the machine's name behind the tags
    while len(parts) > 1 and room_left() < min(width_of(lead), drawing.width // 3):
        parts.pop()
    if width_of(lead) < width_of(name) and room_left() < min(width_of(name), width_of(lead) + _LEAST_NAME):
        name = lead  # a letter or two of the machine's name tell nothing
    style = "strong" if drawing.view.held else "plain"
    left: list[Run] = [("strong", cut(name, max(room_left(), 1))), (style, told)]
    right: list[Run] = []
    for part in reversed(parts):
        right += [*part, ("plain", "   ")]
    right[-1] = ("plain", " ")
    return spread(left, right, drawing.width, look)


def _notes(drawing: Drawing) -> list[str]:
    """What is not as usual."""
    earlier = "" if drawing.behind is None else f"dashed: {_name_of(drawing.behind.state)}"
    held = "display frozen" if drawing.view.held else ""
    playing = drawing.around.playing
    return [note for note in (time_words(drawing.state, playing=bool(playing)), playing, held, earlier) if note]


def _name_of(state: ViewState) -> str:
    """A run in as few words as tell it apart: the machine is mostly the same."""
    return tag_words(state) or heading_left(state)


def word_rows(drawing: Drawing, count: int) -> list[Row]:
    """What is happening and what comes next, or what was concluded; then what was asked for, which is never cut."""
    state, look = drawing.state, drawing.look
    said, asked = _said(drawing), _asked(drawing)
    flag = ("plain", " ") if state.open_event is None else (CAUSE_STYLES[state.open_event.cause], look.sign("▌", "|"))
    wide = drawing.width - 2
    answer = wrapped(look.text(asked), wide)[: max(count - 1, 1)]
    lines = laid_out([look.text(text) for text in said], wide, count - len(answer), look.sign("…", "."))
    rows: list[list[Run]] = []
    for place, paragraph in enumerate(lines):
        style = "strong" if place == 0 or drawing.has_verdict else "plain"
        rows += [[flag if place == 0 else ("plain", " "), (style, line)] for line in paragraph]
    rows += [[("strong", f" {line}")] for line in answer]
    return [fit(row, drawing.width, look) for row in rows + [[]] * (count - len(rows))]


def _asked(drawing: Drawing) -> str:
    """The answer to a key, else the reading at the cursor; empty without either."""
    view = drawing.view
    if view.message:
        return view.message
    return "" if view.cursor_s is None else reading_at(drawing.state, view.cursor_s)


def _said(drawing: Drawing) -> list[str]:
    """What is said by itself, the most important first."""
    state, view = drawing.state, drawing.view
    now = happening(state, drawing.phases, drawing.around.silent_s, is_cut=drawing.around.is_cut)
    event = state.events.get(view.event) if view.event is not None and view.cursor_s is not None else None
    if event is not None:
        return [f"Event {event.number} of {len(state.events)}. {event_sentence(event)}"]
    found = concluded(state)
    if found:
        return [*found, now]
    if view.cursor_s is not None or view.message:
        return [now]
    if drawing.behind is None:
        return [now, coming(state)]
    from benchmon.views.tui.than_before import than_before  # noqa: PLC0415  (what compares is loaded where it is asked)

    return [now, f"{than_before(state, drawing.phases, drawing.behind)} {coming(state)}".strip()]
