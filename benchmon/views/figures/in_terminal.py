"""Rise over power in characters, drawn with the pens of the screen: for whoever has only a terminal."""

from __future__ import annotations

from collections.abc import Callable
from textwrap import wrap

from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded
from benchmon.views.doors import terminal
from benchmon.views.figures.rise_picture import RisePicture, rise_picture
from benchmon.views.figures.ticks import round_ticks
from benchmon.views.numbers import plain, plain_ascii
from benchmon.views.traces import BRAILLE, PLAIN, Pen, Scale, Span, characters, raster

_WIDTH, _ROWS, _MARGIN = 80, 20, 6


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
    pen, say = (BRAILLE, str) if can_show_signs else (PLAIN, plain_ascii)
    return terminal("\n".join(line.rstrip() for line in _lines(picture, pen, say))) + "\n"


def _lines(picture: RisePicture, pen: Pen, say: Callable[[str], str]) -> list[str]:
    across = _WIDTH - _MARGIN
    watts = [*(p.power_w for p in picture.points), *picture.powers_w, picture.capacity.value or 0.0]
    kelvins = [0.0, *(p.rise_k for p in picture.points), *(rise for rise, _ in picture.limits)]
    reach_w = round_ticks(0.0, max(watts), 6)[-1]
    ticks = round_ticks(min(kelvins), max(kelvins), 4)
    scale = Scale(ticks[0], ticks[-1])
    grid = [list(characters(row, pen)) for row in raster(_band(picture, pen, across, scale, reach_w), _ROWS, pen)]

    def place(power_w: float, rise_k: float, words: str) -> None:
        words = say(words)
        row, column = scale.dot(rise_k, _ROWS), min(int(power_w / reach_w * (across - 1)), across - 1)
        begin = min(column, max(across - len(words), 0))
        for offset, sign in enumerate(words[: across - begin]):
            grid[row][begin + offset] = sign

    for rise_k, words in picture.limits:
        row = scale.dot(rise_k, _ROWS)
        grid[row] = [sign if sign != " " else "-" for sign in grid[row]]
        place(0.0, rise_k, f" {words} ")
    for point in picture.points:
        place(point.power_w, point.rise_k, f"{'*' if point.has_settled else 'o'} {point.name} ")
    if picture.capacity.value is not None and picture.limits:
        place(picture.capacity.value, picture.limits[0][0], f"# {picture.capacity_words} ")
    labels = {scale.dot(tick, _ROWS): say(plain(tick, 0)) for tick in ticks}
    body = [f"{labels.get(row, ''):>{_MARGIN - 2}} |{''.join(signs)}" for row, signs in enumerate(grid)]
    foot = [" "] * _WIDTH
    for tick in round_ticks(0.0, reach_w, 5):
        words = say(plain(tick, 0))
        begin = min(_MARGIN + int(min(tick / reach_w, 1.0) * (across - 1)), _WIDTH - len(words))
        foot[begin : begin + len(words)] = words
    slope = picture.line_words or "resistance not known"
    head = (picture.title, f"Rise over the room, K, over package power, W: {slope}")
    signs = "o phase, * settled, # sustained power; the field of strokes is the 95 % band of the cooler's line."
    around = [
        [part for line in lines for part in wrap(say(line), _WIDTH)] for lines in (head, (signs, *picture.footing))
    ]
    return [*around[0], "", *body, "".join(foot), *around[1]]


def _band(picture: RisePicture, pen: Pen, across: int, scale: Scale, reach_w: float) -> list[Span | None]:
    """The band as spans of dots; every other column is left out, so that what lies on it can be read."""
    dots, columns = _ROWS * pen.down, across * pen.across
    drawn: list[Span | None] = [None] * columns
    for power_w, low_k, high_k in zip(picture.powers_w, picture.lows_k, picture.highs_k, strict=True):
        column = min(int(power_w / reach_w * (columns - 1)), columns - 1)
        drawn[column] = (scale.dot(high_k, dots), scale.dot(low_k, dots))
    return drawn
