"""The summary card."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchmon.views.doors import terminal
from benchmon.views.figures.card import Card
from benchmon.views.figures.colours import Look
from benchmon.views.figures.files.lettering import (
    HEIGHT_IN,
    MARGIN,
    broken,
    fitting_pt,
    head_and_foot,
    measure,
    width_pt,
    write_lines,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_LARGEST_PT, _WORDS_PT, _LABEL_PT, _LINE_PT = 82.0, 27.0, 17.0, 22.0
_FIRST_LINE, _LAST_LINE = 0.5, 0.12


def draw_card(figure: Figure, picture: Card, _look: Look) -> None:
    """The whole picture: the capacity large enough for a thumbnail, the rest beside labels."""
    below = head_and_foot(figure, picture.title, picture.machine, picture.footing)
    whole = width_pt(figure)
    room = whole * (1 - 2 * MARGIN)
    large = fitting_pt(picture.capacity, room, _LARGEST_PT, 30.0)
    figure.text(MARGIN, (below + 0.67) / 2, terminal(picture.capacity), size=large, weight="bold", va="center")
    write_lines(figure, 0.67, broken(terminal(picture.capacity_words), room, _WORDS_PT, 2), _WORDS_PT)
    label_pt = fitting_pt(max((label for label, _ in picture.lines), key=len), 0.3 * whole, _LABEL_PT, 12.0)
    beside = MARGIN + (max(measure(label_pt)(label)[0] for label, _ in picture.lines) + 24.0) / whole
    step = (_FIRST_LINE - _LAST_LINE) / len(picture.lines)
    for at, (label, line) in enumerate(picture.lines):
        y = _FIRST_LINE - step * at
        figure.text(MARGIN, y, terminal(label), size=label_pt, va="top")
        left_pt = (1 - MARGIN - beside) * whole
        size = fitting_pt(terminal(line), left_pt, _LINE_PT, 15.0)
        lines = broken(terminal(line), left_pt, size, max(1, int(step * HEIGHT_IN * 72 / (1.1 * size))))
        figure.text(beside, y + 0.004, "\n".join(lines), size=size, va="top", linespacing=1.05)
