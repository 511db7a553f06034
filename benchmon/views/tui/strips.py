"""One strip of the recorder: the pen's trace on its paper, between its two margins."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.views.traces import PLAIN, Pen, Span, raster, redraw, span_of, spans
from benchmon.views.tui.look import Look, Row, Run
from benchmon.views.tui.margins import left_margin, right_margin
from benchmon.views.tui.ruling import ruling
from benchmon.views.tui.strip_content import Paper, StripContent


def draw_strip(content: StripContent, paper: Paper, rows: int, look: Look) -> list[Row]:
    """Rows of one strip from the top."""
    pen = look.pen
    dots = rows * pen.down
    paper_rows = _paper_rows(content, paper, rows, pen)
    margin = left_margin(content, paper.left, rows, look)
    names = right_margin(content, rows)
    nib = content.scale.dot(content.pen_value, dots) // pen.down if content.pen_value is not None else None
    drawn: list[Row] = []
    for row in range(rows):
        edge = look.sign("◂", "<") if row == nib else look.sign("│", "|")
        runs: list[Run] = [
            ("plain", margin[row]),
            *paper_rows[row],
            (content.quantity.style, edge),
        ]
        style, text = names[row]
        runs.append((style, " " + look.text(text).ljust(paper.right - 2)[: paper.right - 2]))
        drawn.append(tuple(runs))
    return drawn


@dataclass
class _Kept:
    """A strip's latest drawing: most refreshes change only where the pen is."""

    made_from: tuple[object, ...]
    trace: list[bytearray]
    behind: list[bytearray]
    print_: list[bytearray]
    rows: list[list[Run]]
    last: tuple[int, Span | None]
    """The last column with readings, and its dots."""


def _paper_rows(content: StripContent, paper: Paper, rows: int, pen: Pen) -> list[list[Run]]:
    """The paper without its margins; only what has changed since the latest drawing is drawn again."""
    window, track, dots = paper.window, content.track, rows * pen.down
    columns = track.columns(window.step_s, window.first, window.count)
    latest = columns.places[-1] if columns.places else -1
    # Only the last column can still change, and most readings leave its dots as they are.
    low, high = columns.lows[-1:], columns.highs[-1:]
    last = (latest, span_of(low[0], high[0], content.scale, dots, least_dots=pen.least_dots) if low else None)
    made_from = (paper, rows, pen.name, content.scale, content.lines, content.behind, columns.places[:1])
    kept = track.kept_drawing
    if not isinstance(kept, _Kept) or kept.made_from != made_from:
        trace = raster(
            spans(columns, window.first, window.count, content.scale, dots, least_dots=pen.least_dots), rows, pen
        )
        behind = [] if content.behind is None else _dashed(raster(content.behind, rows, pen))
        kept = track.kept_drawing = _Kept(made_from, trace, behind, ruling(content, paper, rows, pen), [], last)
        kept.rows = [_cells(kept, row, content, paper, pen) for row in range(rows)]
    elif kept.last != last:
        before = [bytes(row) for row in kept.trace]
        changed = min(max(kept.last[0] - window.first, 0), window.count)
        fresh = spans(
            columns, window.first + changed, window.count - changed, content.scale, dots, least_dots=pen.least_dots
        )
        if fresh:
            redraw(kept.trace, changed, fresh, pen)
        kept.last = last
        for row in range(rows):
            if kept.trace[row] != before[row]:
                kept.rows[row] = _cells(kept, row, content, paper, pen)
    return kept.rows


def _dashed(cells: list[bytearray]) -> list[bytearray]:
    """Every second cell left out: dashes, which nothing else on the paper is made of."""
    for row in cells:
        row[::2] = bytes(len(row[::2]))
    return cells


def blank_paper(paper: Paper, look: Look) -> Row:
    """An empty line of paper between two strips."""
    edge = look.sign("│", "|")
    return (
        ("plain", " " * (paper.left - 1) + edge + " " * paper.cells),
        ("rule", edge),
        ("plain", " " * (paper.right - 1)),
    )


def _cells(kept: _Kept, row: int, content: StripContent, paper: Paper, pen: Pen) -> list[Run]:
    """One row of paper as runs; where two things meet, the trace wins, then the earlier run, then the ruling."""
    trace, behind, print_ = kept.trace[row], kept.behind[row] if kept.behind else None, kept.print_[row]
    style, glyphs = content.quantity.style, pen.glyphs
    cursor = None if paper.cursor is None else paper.cursor // pen.across
    runs: list[Run] = []
    last, text = "plain", ""
    for place, live in enumerate(trace):
        if live:
            here, bits = style, live
        elif behind is not None and behind[place]:
            here, bits = "behind", behind[place]
        elif print_[place]:
            here, bits = "rule", print_[place]
        else:
            here, bits = last, 0
        if place == cursor:
            runs += [(last, text), (style + "!", glyphs[live]) if live else ("strong", "|" if pen is PLAIN else "│")]
            last, text = "plain", ""
            continue
        if here != last:
            runs.append((last, text))
            last, text = here, ""
        text += pen.ruling[bits] if here == "rule" and bits and pen.ruling else glyphs[bits]
    runs.append((last, text))
    return [run for run in runs if run[1]]
