"""The strips on their common paper, and its foot: one time axis for all."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.views.tui.behind import Piece
from benchmon.views.tui.drawing import Drawing
from benchmon.views.tui.foot import axis_row, held_row, margined, phases_row
from benchmon.views.tui.layout import Layout
from benchmon.views.tui.loaded import loaded_value
from benchmon.views.tui.look import Row
from benchmon.views.tui.quantities import Quantity, can_lie_behind, lines_of, scale_of, shown_quantities
from benchmon.views.tui.scale import time_ticks
from benchmon.views.tui.strip_content import Paper, StripContent
from benchmon.views.tui.strips import blank_paper, draw_strip

_TICK_CELLS = 10
"""Least distance of labels on the time axis, in cells."""


def draw_paper(drawing: Drawing, layout: Layout) -> list[Row]:
    """All strips, with their foot."""
    state, look = drawing.state, drawing.look
    paper, ticks = _paper(drawing, layout)
    pieces = drawing.behind.pieces(drawing.phases) if drawing.behind is not None else []
    rows: list[Row] = []
    for quantity, lines in zip(shown_quantities(state), layout.strips, strict=False):
        if len(rows) > layout.gap:
            rows += [blank_paper(paper, look)] * layout.apart
        content = _content(drawing, quantity, pieces, paper, lines)
        rows += draw_strip(content, paper, lines, look)
    window, cells = paper.window, paper.cells
    held = held_row(tuple(state.events.values()), window, cells, state.now_s, look)
    names = phases_row(drawing.phases, window, cells, state.now_s, look)
    times = axis_row(ticks, window, cells, layout.right, look)
    for label, runs, right in (("throttled", held, layout.right), ("time", times, 0), ("phase", names, layout.right)):
        rows.append(margined(label, runs, layout.left, right, look))
    return rows


def _paper(drawing: Drawing, layout: Layout) -> tuple[Paper, list[float]]:
    """The paper, and the times that are labelled on its axis."""
    cells = drawing.width - layout.left - layout.right
    window = drawing.view.window(drawing.state, cells * drawing.look.pen.across)
    ticks = time_ticks(window.start_s, window.end_s, max(cells // _TICK_CELLS, 1))

    def on_paper(times: Sequence[float]) -> tuple[int, ...]:
        return tuple(column for t_s in times if 0 <= (column := window.column(t_s)) < window.count)

    cursor = [] if drawing.view.cursor_s is None else [drawing.view.cursor_s]
    paper = Paper(
        window,
        layout.left,
        cells,
        layout.right,
        ruled=on_paper(ticks),
        edges=on_paper([phase.start_s for phase in drawing.phases]),
        cursor=next(iter(on_paper(cursor)), None),
    )
    return paper, ticks


def _content(drawing: Drawing, quantity: Quantity, pieces: Sequence[Piece], paper: Paper, rows: int) -> StripContent:
    state, pen = drawing.state, drawing.look.pen
    track = state.tracks[quantity.key]
    resolution = track.channel.resolution
    lines = tuple(lines_of(state, quantity, track))
    earlier_run = drawing.behind
    if earlier_run is not None and not can_lie_behind(quantity, state, earlier_run.state):
        earlier_run = None
    earlier_track = None if earlier_run is None else earlier_run.state.tracks.get(quantity.key)
    ruled = scale_of(quantity, track, earlier_track, lines, rows, down=pen.down)
    scale = ruled.scale
    index = state.index_at(drawing.seen_s)
    value = None if index is None else track.at(index)
    behind, words_behind = None, ""
    if earlier_run is not None:
        behind = earlier_run.drawn(quantity.key, pieces, paper.window, scale, rows, pen=pen)
        earlier = earlier_run.value_at(quantity.key, pieces, drawing.seen_s)
        if earlier is not None:
            words_behind = f"then {quantity.words(earlier, resolution)}"
    note = ""
    if drawing.loaded is not None:
        value, note = loaded_value(drawing.loaded, quantity.key), drawing.loaded.name
    words = (quantity.words(value, resolution), note, words_behind)
    return StripContent(quantity, track, lines, scale, ruled.ticks, ruled.decimals, behind, *words, value)
