"""The top of the screen: one heading line, and a few lines of plain words."""

from __future__ import annotations

from benchmon.views.tui.drawing import Drawing
from benchmon.views.tui.headings import heading_left, heading_right, reading_at, tag_words, time_words
from benchmon.views.tui.look import Look, Row, Run, cut, fit, spread, width_of
from benchmon.views.tui.palette import CAUSE_STYLES
from benchmon.views.tui.sentences import coming, happening
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.wrapping import wrapped
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
    held = "drawing held still" if drawing.view.held else ""
    playing = drawing.around.playing
    return [note for note in (time_words(drawing.state, playing=bool(playing)), playing, held, earlier) if note]


def _name_of(state: ViewState) -> str:
    """A run in as few words as tell it apart: the machine is mostly the same."""
    return tag_words(state) or heading_left(state)


def word_rows(drawing: Drawing, count: int) -> list[Row]:
    """What is happening; then the answer to a key, the reading at the cursor, or what comes next."""
    state, view = drawing.state, drawing.view
    first = happening(state, drawing.phases, drawing.around.silent_s, is_cut=drawing.around.is_cut)
    second, style = coming(state), "plain"
    if view.cursor_s is not None:
        second, style = reading_at(state, view.cursor_s), "strong"
        event = state.events.get(view.event) if view.event is not None else None
        if event is not None:
            first = f"Event {event.number} of {len(state.events)}. {event_sentence(event)}"
    if view.message:
        second, style = view.message, "strong"
    wide, look = drawing.width - 2, drawing.look
    if style == "strong":  # what was asked for is never cut for what is said anyway
        after = _wrapped(second, wide, count - 1, look)
        before = _wrapped(first, wide, count - len(after), look)
    else:
        before = _wrapped(first, wide, count - 1 if second else count, look)
        after = _wrapped(second, wide, count - len(before), look)
    flag = ("plain", " ") if state.open_event is None else (CAUSE_STYLES[state.open_event.cause], look.sign("▌", "|"))
    rows: list[list[Run]] = [[flag, ("strong", line)] for line in before]
    rows += [[(style, f" {line}")] for line in after]
    return [fit(row, drawing.width, look) for row in rows + [[]] * (count - len(rows))]


def _wrapped(text: str, width: int, count: int, look: Look) -> list[str]:
    """A text in at most so many lines; the last one says if there was more."""
    lines = wrapped(look.text(text), width)
    if len(lines) > count > 0:
        lines[count - 1] = cut(lines[count - 1], width - 2, more="") + look.sign(" …", " .")
    return lines[:count]
