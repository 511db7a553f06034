"""The faint print of the paper: time ticks, phase edges, and the lines that matter."""

from __future__ import annotations

from benchmon.views.traces import Pen
from benchmon.views.tui.strip_content import Paper, StripContent


def ruling(content: StripContent, paper: Paper, rows: int, pen: Pen) -> list[bytearray]:
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
