"""One strip of the recorder: ticks and the lines that matter at its left, the pen's trace, name and value at its right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from benchmon.views.traces import PLAIN, Pen, Scale, Span, raster, spans
from benchmon.views.tui.look import Look, Row, Run
from benchmon.views.tui.quantities import Line, Quantity
from benchmon.views.tui.scale import tick_decimals, ticks
from benchmon.views.tui.track import Track
from benchmon.views.tui.window import Window


@dataclass(frozen=True, slots=True)
class Paper:
    """What all strips of one drawing have in common."""

    window: Window
    left: int
    """Columns of the margin at the left, with ticks."""
    cells: int
    """Columns of paper."""
    right: int
    """Columns of the margin at the right, with name and value."""
    ruled: tuple[int, ...]
    """Dot columns with a faint ruling: the ticks of the time axis."""
    edges: tuple[int, ...]
    """Dot columns at which phases begin."""
    cursor: int | None
    """Dot column of the cursor."""


@dataclass(frozen=True, slots=True)
class StripContent:
    """What is on one strip."""

    quantity: Quantity
    track: Track
    lines: tuple[Line, ...]
    scale: Scale
    behind: tuple[Span | None, ...] | None
    """Spans of the earlier run; None without one."""
    value_words: str
    behind_words: str
    pen_value: float | None
    """Where the pen stands now; None if it is lifted."""


def draw_strip(content: StripContent, paper: Paper, rows: int, look: Look) -> list[Row]:
    """Rows of one strip from the top."""
    pen, window = look.pen, paper.window
    dots = rows * pen.down
    paper_rows = _paper_rows(content, paper, rows, pen)
    margin = _left_margin(content, paper.left, rows, look)
    names = _right_margin(content, rows)
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
    ruling = _ruling(content, paper, rows, pen)
    cursor = None if paper.cursor is None else paper.cursor // pen.across
    drawn = [
        _cells((trace[row], behind[row] if behind else None, ruling[row]), content.quantity.style, pen, cursor)
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


def _ruling(content: StripContent, paper: Paper, rows: int, pen: Pen) -> list[bytearray]:
    """Faint print of the paper: time ticks, phase edges, and the lines that matter."""
    cells = [bytearray(paper.cells) for _ in range(rows)]
    if pen.ruling:
        return _coarse_ruling(content, paper, cells, pen)
    for column in paper.ruled:
        place, inner = divmod(column, pen.across)
        for row in range(0, rows, 2):
            cells[row][place] |= 1 << (inner * pen.down)
    for column in paper.edges:
        place, inner = divmod(column, pen.across)
        for row in range(rows):
            for dot in range(0, pen.down, 2 if pen.down > 3 else 1):
                cells[row][place] |= 1 << (inner * pen.down + dot)
    for line in content.lines:
        row, dot = divmod(content.scale.dot(line.value, rows * pen.down), pen.down)
        for place in range(0, paper.cells, 2):
            cells[row][place] |= 1 << dot
    return cells


def _coarse_ruling(content: StripContent, paper: Paper, cells: list[bytearray], pen: Pen) -> list[bytearray]:
    """The same print, a character at a place: 1 for a line, 2 for an edge."""
    rows = len(cells)
    for line in content.lines:
        row = content.scale.dot(line.value, rows * pen.down) // pen.down
        for place in range(0, paper.cells, 2):
            cells[row][place] = 1
    for column in paper.edges:
        for row in range(rows):
            cells[row][column // pen.across] = 2
    return cells


def _left_margin(content: StripContent, width: int, rows: int, look: Look) -> list[str]:
    """Labels at their heights: first the lines that matter, then round numbers where there is room."""
    pen, scale, quantity = look.pen, content.scale, content.quantity
    labels: dict[int, str] = {}
    room = width - 2
    at_most = max((rows + 2) // 2, 2)
    shown = Scale(scale.low * quantity.per_unit, scale.high * quantity.per_unit)
    decimals = tick_decimals(shown, at_most)
    for line in content.lines:
        row = scale.dot(line.value, rows * pen.down) // pen.down
        number = quantity.bare(line.value, _line_decimals(quantity, line.value))
        texts: Iterable[str] = [f"{name} {number}" for name in line.names]
        labels.setdefault(row, next((text for text in texts if len(text) <= room), number))
    for tick in ticks(shown, at_most):
        row = scale.dot(tick / quantity.per_unit, rows * pen.down) // pen.down
        labels.setdefault(row, quantity.bare(tick / quantity.per_unit, decimals))
    tick_sign, plain_sign = look.sign("┤", "+"), look.sign("│", "|")
    return [
        look.text(labels[row]).rjust(room)[:room] + " " + tick_sign if row in labels else " " * (room + 1) + plain_sign
        for row in range(rows)
    ]


def _line_decimals(quantity: Quantity, value: float) -> int:
    if quantity.unit == "GHz":
        return 2
    return 0 if abs(value - round(value)) < 0.05 else 1


def _right_margin(content: StripContent, rows: int) -> Sequence[Run]:
    quantity = content.quantity
    lines: list[Run] = [(quantity.style, quantity.name), (quantity.style + "*", content.value_words)]
    if rows == 1:
        lines = [(quantity.style + "*", content.value_words)]
    if content.behind_words:
        lines.append(("dim", content.behind_words))
    return (lines + [("plain", "")] * rows)[:rows]
