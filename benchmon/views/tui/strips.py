"""One strip of the recorder: the pen's trace on its paper, between its two margins."""

from __future__ import annotations

from benchmon.views.traces import PLAIN, Pen, raster, spans
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
            ("dim", margin[row]),
            *paper_rows[row],
            (content.quantity.style if row == nib else "dim", edge),
        ]
        style, text = names[row]
        runs.append((style, " " + look.text(text).ljust(paper.right - 2)[: paper.right - 2]))
        drawn.append(tuple(runs))
    return drawn


def _paper_rows(content: StripContent, paper: Paper, rows: int, pen: Pen) -> list[list[Run]]:
    """The paper without its margins; made again only if something on it has changed."""
    window, track = paper.window, content.track
    columns = track.columns(window.step_s)
    # Only the last column can still change, and most readings leave its dots as they are.
    last = [content.scale.dot(value, rows * pen.down) for value in columns.lows[-1:] + columns.highs[-1:]]
    made_from = (
        (columns.base, len(columns.lows), last),
        (paper, rows, pen.name, content.scale, content.lines, content.behind),
    )
    known, kept = track.kept_drawing
    if known == made_from:
        return kept  # type: ignore[return-value]
    trace = raster(spans(columns, window.first, window.count, content.scale, rows * pen.down), rows, pen)
    behind = [] if content.behind is None else raster(content.behind, rows, pen, every=2)
    print_ = ruling(content, paper, rows, pen)
    cursor = None if paper.cursor is None else paper.cursor // pen.across
    drawn = [
        _cells((trace[row], behind[row] if behind else None, print_[row]), content.quantity.style, pen, cursor)
        for row in range(rows)
    ]
    track.kept_drawing = (made_from, drawn)
    return drawn


def blank_paper(paper: Paper, look: Look) -> Row:
    """An empty line of paper between two strips."""
    edge = look.sign("│", "|")
    return (
        ("dim", " " * (paper.left - 1) + edge),
        ("plain", " " * paper.cells),
        ("dim", edge + " " * (paper.right - 1)),
    )


def _cells(
    layers: tuple[bytearray, bytearray | None, bytearray], style: str, pen: Pen, cursor: int | None
) -> list[Run]:
    """One row of paper as runs; where two things meet, the trace wins, then the earlier run, then the ruling."""
    trace, behind, ruling = layers
    glyphs = pen.glyphs
    runs: list[Run] = []
    last, text = "plain", ""
    for place, live in enumerate(trace):
        if live:
            here, bits = style, live
        elif behind is not None and behind[place]:
            here, bits = "behind", behind[place]
        elif ruling[place]:
            here, bits = "rule", ruling[place]
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
