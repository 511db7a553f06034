"""The whole screen as rows: heading, words, strips, foot, sheet or panel, keys or prompt. Pure."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from benchmon.model.findings import PhaseFindings
from benchmon.views.tui.behind import Behind, Piece
from benchmon.views.tui.foot import axis_row, held_row, margined, phases_row
from benchmon.views.tui.key_lines import key_rows, prompt_rows
from benchmon.views.tui.layout import LEAST_HEIGHT, LEAST_WIDTH, Layout, is_too_small, lay_out
from benchmon.views.tui.look import Look, Row, Run, cut, fit, spread, width_of
from benchmon.views.tui.panels import panel_lines, panel_rows
from benchmon.views.tui.quantities import Quantity, lines_of, scale_of, shown_quantities
from benchmon.views.tui.scale import time_ticks
from benchmon.views.tui.sentences import coming, happening, heading_left, heading_right, reading_at, time_words
from benchmon.views.tui.sheet_rows import Context, sheet_rows
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.strips import Paper, StripContent, blank_paper, draw_strip
from benchmon.views.tui.view import Panel, View
from benchmon.views.tui.window import Window
from benchmon.views.words import event_sentence

_TICK_CELLS = 10
"""Least distance of labels on the time axis, in cells."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the screen knows besides the session."""

    live: bool
    """Whether the session is being recorded and can be marked."""
    behind: Behind | None = None
    screen_cost_pct: float | None = None
    silent_s: float | None = None
    """Real seconds since anything came from a recorder that should be running."""
    playing: str = ""
    """How a replay runs, in words; empty without one."""


def draw_page(state: ViewState, view: View, around: Surroundings, size: tuple[int, int], look: Look) -> list[Row]:
    """All rows of the screen; each is exactly as wide as the terminal.

    Args:
        state: what is known.
        view: how it is looked at.
        around: what else there is.
        size: columns and lines of the terminal.
        look: what the terminal can show.
    """
    width, height = size
    phases = tuple(state.analyst.phases())
    if is_too_small(width, height):
        return _small_page(state, phases, around, size, look)
    quantities = shown_quantities(state)
    layout = lay_out(width, height, len(quantities), len(phases), view.mode)
    words = _words(state, view, phases, around, (width, layout.words), look)
    rows = [_heading(state, view, around, width, look), *words]
    if layout.strips:
        rows += _traces(state, view, phases, around, layout, width, look)
    if layout.sheet:
        rows += [_rule("bench sheet", width, look)] * layout.gap
        rows += sheet_rows(phases, Context(state.now_s, state.events), width, layout.sheet, look)
    rows += [fit([], width, look)] * (height - 2 - len(rows))
    if view.panel is not Panel.NONE:
        _lay_panel(rows, state, view, around, layout, width, look)
    if view.prompt is not None:
        rows += prompt_rows(view.prompt, state.load_runs, width, look)
    else:
        rows += key_rows(around.live, bool(around.playing), width, look)
    return rows


def _small_page(
    state: ViewState, phases: Sequence[PhaseFindings], around: Surroundings, size: tuple[int, int], look: Look
) -> list[Row]:
    width, height = size
    text = (
        f"{happening(state, phases, around.silent_s)} For the whole screen this terminal must be"
        f" {LEAST_WIDTH}x{LEAST_HEIGHT}; it is {width}x{height}. q leaves."
    )
    lines = textwrap.wrap(look.text(text), max(width, 1))[:height]
    return [fit([("plain", line)], width, look) for line in lines + [""] * (height - len(lines))]


def _heading(state: ViewState, view: View, around: Surroundings, width: int, look: Look) -> Row:
    earlier = f"behind: {heading_left(around.behind.state)}" if around.behind and view.behind_shown else ""
    held = "drawing held still" if view.held else ""
    notes = [note for note in (time_words(state), around.playing, held, earlier) if note]
    told = look.text(f" · {', '.join(notes)}" if notes else "")
    name = look.text(f" {heading_left(state)}")
    parts = heading_right(state, around.screen_cost_pct)

    def room_left() -> int:
        taken = sum(3 + sum(width_of(look.text(text)) for _, text in part) for part in parts)
        return width - taken - width_of(told)

    while len(parts) > 1 and room_left() < min(width_of(name), width // 3):
        parts.pop()
    left: list[Run] = [("strong", cut(name, max(room_left(), 1))), ("alert" if view.held else "plain", told)]
    right: list[Run] = []
    for part in reversed(parts):
        right += [*part, ("plain", "   ")]
    right[-1] = ("plain", " ")
    return spread(left, right, width, look)


def _words(
    state: ViewState,
    view: View,
    phases: Sequence[PhaseFindings],
    around: Surroundings,
    place: tuple[int, int],
    look: Look,
) -> list[Row]:
    """What is happening; then the answer to a key, the reading at the cursor, or what comes next."""
    first = happening(state, phases, around.silent_s)
    second, style = coming(state), "plain"
    if view.cursor_s is not None:
        second, style = reading_at(state, view.cursor_s), "strong"
        event = state.events.get(view.event) if view.event is not None else None
        if event is not None:
            first = f"Event {event.number} of {len(state.events)}. {event_sentence(event)}"
    if view.message:
        second, style = view.message, "strong"
    top = "alert-words" if state.open_event is not None else "strong"
    width, count = place
    lines = [(top, line) for line in textwrap.wrap(look.text(first), width - 2)]
    lines = [*lines[: count - 1], *((style, line) for line in textwrap.wrap(look.text(second), width - 2))]
    lines += [("plain", "")] * count
    return [fit([(style, f" {line}")], width, look) for style, line in lines[:count]]


@lru_cache(maxsize=4)
def _rule(name: str, width: int, look: Look) -> Row:
    sign = look.sign("─", "-")
    return fit([("dim", f"{sign * 2} {name} {sign * width}"[:width])], width, look)


def _traces(
    state: ViewState,
    view: View,
    phases: Sequence[PhaseFindings],
    around: Surroundings,
    layout: Layout,
    width: int,
    look: Look,
) -> list[Row]:
    cells = width - layout.left - layout.right
    window = view.window(state, cells * look.pen.across)
    labels = time_ticks(window.start_s, window.end_s, max(cells // _TICK_CELLS, 1))
    cursor = None if view.cursor_s is None else window.column(view.cursor_s)
    edges = (window.column(phase.start_s) for phase in phases)
    paper = Paper(
        window,
        layout.left,
        cells,
        layout.right,
        ruled=tuple(column for tick in labels if 0 <= (column := window.column(tick)) < window.count),
        edges=tuple(edge for edge in edges if 0 <= edge < window.count),
        cursor=cursor if cursor is not None and 0 <= cursor < window.count else None,
    )
    behind = around.behind if view.behind_shown else None
    pieces = behind.pieces(phases) if behind is not None else []
    rows: list[Row] = [_paper_edge(layout.left, cells, width, look)] * layout.gap
    for quantity, lines in zip(shown_quantities(state), layout.strips, strict=False):
        if len(rows) > layout.gap:
            rows += [blank_paper(paper, look)] * layout.apart
        content = _content(state, view, quantity, (window, lines * look.pen.down), behind, pieces)
        rows += draw_strip(content, paper, lines, look)
    held = held_row(tuple(state.events.values()), window, cells, state.now_s, look)
    left, right = layout.left, layout.right
    rows.append(margined("held by", held, left, right, look))
    rows.append(margined("time", axis_row(labels, window, cells, look), left, right, look))
    rows.append(margined("phase", phases_row(phases, window, cells, state.now_s, look), left, right, look))
    return rows


@lru_cache(maxsize=4)
def _paper_edge(left: int, cells: int, width: int, look: Look) -> Row:
    """The holes by which a recorder feeds its paper."""
    holes = (look.sign("∘", "o") + " " * 4) * cells
    return fit([("rule", " " * (left + 2) + holes[: cells - 2])], width, look)


def _content(
    state: ViewState,
    view: View,
    quantity: Quantity,
    place: tuple[Window, int],
    behind: Behind | None,
    pieces: Sequence[Piece],
) -> StripContent:
    window, dots = place
    track = state.tracks[quantity.key]
    resolution = track.channel.resolution
    lines = lines_of(state, quantity, track)
    scale = scale_of(quantity, track, lines, max(dots // 4, 1))
    at_s = state.now_s if view.cursor_s is None else view.cursor_s
    value = track.last
    if view.cursor_s is not None:
        index = state.index_at(view.cursor_s)
        value = None if index is None else track.at(index)
    spans_behind, words_behind = None, ""
    if behind is not None:
        spans_behind = behind.drawn(quantity.key, pieces, window, scale, dots)
        earlier = behind.value_at(quantity.key, pieces, at_s)
        if earlier is not None:
            words_behind = f"was {quantity.words(earlier, resolution)}"
    return StripContent(
        quantity, track, tuple(lines), scale, spans_behind, quantity.words(value, resolution), words_behind, value
    )


def _lay_panel(
    rows: list[Row], state: ViewState, view: View, around: Surroundings, layout: Layout, width: int, look: Look
) -> None:
    """Lay the open panel over the lowest lines: over the sheet, and over the traces as far as it must."""
    lines = panel_lines(state, view, around.live, width)
    most = len(rows) - 3
    place = min(max(len(lines), layout.sheet), most)
    rows[len(rows) - place :] = panel_rows(lines, view, width, place, look)
