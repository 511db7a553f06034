"""Rise over power in characters, drawn with the pens of the screen: for whoever has only a terminal."""

from __future__ import annotations

from collections.abc import Callable
from textwrap import wrap

from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded
from benchmon.views.doors import terminal
from benchmon.views.figures.labels import Box, Paper
from benchmon.views.figures.rise_picture import RisePicture, rise_picture
from benchmon.views.figures.ticks import round_ticks
from benchmon.views.numbers import plain, plain_ascii
from benchmon.views.traces import LINE, PLAIN, Pen, Scale, Span, characters, raster

_WIDTH, _MARGIN = 80, 6
_WHOLE_ROWS, _LEAST_ROWS = 23, 10
"""Rows of the whole, so that it stays on a screen of 24 with the prompt below; and of the drawing, be there ever so
many words."""


def draw_in_terminal(session: Recorded, summary: Summary, *, can_show_signs: bool = True) -> str:
    """The picture as lines of at most 80 columns; a sentence where there is nothing to draw.

    Args:
        session: the run.
        summary: what was concluded from it.
        can_show_signs: False for terminals without UTF-8.
    """
    picture = rise_picture(session, summary)
    if picture.why_not:
        return f"{picture.why_not}\n"
    pen, say = (LINE, str) if can_show_signs else (PLAIN, plain_ascii)
    return terminal("\n".join(line.rstrip() for line in _lines(picture, pen, say))) + "\n"


def _lines(picture: RisePicture, pen: Pen, say: Callable[[str], str]) -> list[str]:
    head, foot = _words(picture, say)
    rows = max(_LEAST_ROWS, _WHOLE_ROWS - len(head) - len(foot) - 1)
    return [*head, *_drawing(picture, pen, say, rows), *foot]


def _words(picture: RisePicture, say: Callable[[str], str]) -> tuple[list[str], list[str]]:
    """What stands above and below the drawing."""
    slope = picture.line_words or "resistance not known"
    head = (picture.title, f"Rise over the room, K, over package power, W: {slope}")
    signs = "o phase, * settled, # sustained power; strokes: 95 % band of the cooler's line."
    return (
        [part for line in head for part in wrap(say(line), _WIDTH)],
        [part for line in (signs, f"{'. '.join(picture.footing)}.") for part in wrap(say(line), _WIDTH)],
    )


def _drawing(picture: RisePicture, pen: Pen, say: Callable[[str], str], rows: int) -> list[str]:
    across = _WIDTH - _MARGIN
    watts = [*(p.power_w for p in picture.points), *picture.powers_w, picture.capacity.value or 0.0]
    kelvins = [0.0, *(p.rise_k for p in picture.points), *(rise for rise, _ in picture.limits)]
    reach_w = round_ticks(0.0, max(watts), 6)[-1]
    ticks = round_ticks(min(kelvins), max(kelvins), 4)
    scale = Scale(ticks[0], ticks[-1])
    grid = [
        list(characters(row, pen)) for row in raster(_band(picture, pen, (across, rows), scale, reach_w), rows, pen)
    ]

    def cell(power_w: float, rise_k: float) -> tuple[int, int]:
        return min(int(power_w / reach_w * (across - 1)), across - 1), scale.dot(rise_k, rows)

    paper = Paper(Box(0, 0, across, rows))
    marks = [(cell(p.power_w, p.rise_k), "*" if p.has_settled else "o", p.name) for p in picture.points]
    if picture.capacity.value is not None and picture.limits:
        marks.insert(0, (cell(picture.capacity.value, picture.limits[0][0]), "#", picture.capacity_words))
    for rise_k, _ in picture.limits:
        row = cell(0.0, rise_k)[1]
        grid[row] = [sign if sign != " " else "-" for sign in grid[row]]
    for (column, row), sign, _ in reversed(marks):
        grid[row][column] = sign
        paper.take(_box(column, row, 1))
    wanted = [(say(words), [_box(1, cell(0.0, rise_k)[1], len(say(words)))]) for rise_k, words in picture.limits]
    wanted += [(say(words), _near(at, len(say(words)))) for at, _, words in marks]
    for words, boxes in wanted:
        box = paper.place(boxes)
        if box is not None:
            grid[int(box.low)][int(box.left) : int(box.right)] = f" {words} "
    labels = {scale.dot(tick, rows): say(plain(tick, 0)) for tick in ticks}
    body = [f"{labels.get(row, ''):>{_MARGIN - 2}} |{''.join(signs)}" for row, signs in enumerate(grid)]
    foot = [" "] * _WIDTH
    for tick in round_ticks(0.0, reach_w, 5):
        words = say(plain(tick, 0))
        begin = min(_MARGIN + int(min(tick / reach_w, 1.0) * (across - 1)), _WIDTH - len(words))
        foot[begin : begin + len(words)] = words
    return [*body, "".join(foot)]


def _box(column: int, row: int, letters: int) -> Box:
    """A word's cells; it is written with a blank on either side."""
    return Box(column, row, column + letters + (2 if letters > 1 else 0), row + 1)


def _near(at: tuple[int, int], letters: int) -> list[Box]:
    """Places for a word beside a mark, else a row or two above or below it."""
    column, row = at
    rows = (row, row + 1, row - 1, row + 2, row - 2)
    return [_box(left, line, letters) for line in rows for left in (column + 1, column - letters - 2)]


def _band(picture: RisePicture, pen: Pen, size: tuple[int, int], scale: Scale, reach_w: float) -> list[Span | None]:
    """The band as spans of dots; every other column is left out, so that what lies on it can be read."""
    dots, columns = size[1] * pen.down, size[0] * pen.across
    drawn: list[Span | None] = [None] * columns
    for power_w, low_k, high_k in zip(picture.powers_w, picture.lows_k, picture.highs_k, strict=True):
        column = min(int(power_w / reach_w * (columns - 1)), columns - 1)
        drawn[column] = (scale.dot(high_k, dots), scale.dot(low_k, dots))
    return drawn
