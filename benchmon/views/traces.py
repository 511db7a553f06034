"""Pen traces out of characters: each dot column holds the least and the greatest of its samples. Pure; no terminal.

A trace is drawn in three steps: samples → extremes of each column (``Columns``), extremes → spans of dots (``spans``),
spans → rows of cells (``raster``). A pen says how many dots a character cell has.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, isnan, nan

Span = tuple[int, int]
"""Topmost and bottommost dot of one dot column, counted from the top, both inclusive."""


@dataclass(frozen=True, slots=True)
class Scale:
    """What the paper's edges mean, in the channel's unit."""

    low: float
    """Value of the bottommost dot."""
    high: float
    """Value of the topmost dot; greater than ``low``."""

    def dot(self, value: float, dots: int) -> int:
        """Dot of a value, counted from the top and held to the paper's edges."""
        return min(max(round((self.high - value) * ((dots - 1) / (self.high - self.low))), 0), dots - 1)


@dataclass(frozen=True, slots=True)
class Pen:
    """How dots become characters. Bit ``column * down + row`` of a cell is its dot in that column and row."""

    name: str
    across: int
    """Dot columns in a cell."""
    down: int
    """Dot rows in a cell."""
    glyphs: str
    """Character of each combination of bits."""
    ruling: str = ""
    """Characters of the paper's faint print where dots would be too coarse: none, line, edge; empty to use dots."""

    @property
    def least_dots(self) -> float:
        """A dip of an eighth of a row shows with every pen, be its dots as coarse as they may."""
        return self.down / 8


LINE = Pen("line", 1, 3, " ▔━┷▁┃┯┃", " ·┆")
"""A line of ink, as a chart recorder draws it: level at three heights of a row, upright where readings swing."""
BLOCKS = Pen("blocks", 1, 2, " ▀▄█", " ·¦")
PLAIN = Pen("plain", 1, 3, " '-=.|=|", " .:")
"""For terminals that show ASCII only."""


class Columns:
    """Extremes of one channel in columns of equal time, grown sample by sample; only columns with readings are held.

    Column ``k`` holds the samples with ``k <= t / step < k + 1``, so the columns do not move when time goes on.

    Args:
        step_s: time of one column [s].
        longest_join_s: two readings farther apart than this are not joined: nobody knows what was between [s].
    """

    def __init__(self, step_s: float, longest_join_s: float) -> None:
        self.step_s = step_s
        self.places: list[int] = []
        """Indexes of the columns with readings, in ascending order; the other lists go along with it."""
        self.lows: list[float] = []
        """Least reading of each column."""
        self.highs: list[float] = []
        self.firsts: list[float] = []
        self.lasts: list[float] = []
        self.joined: list[bool] = []
        """Whether the pen stayed down since the column with readings before."""
        self.taken = 0
        """Samples taken so far, readings or not."""
        self._longest_join_s = longest_join_s
        self._last_s = nan
        self._pen_up = True

    def add(self, t_s: float, value: float) -> None:
        """Take the next sample; NaN is no reading and lifts the pen."""
        self.taken += 1
        if isnan(value):
            self._pen_up = True
            return
        index = floor(t_s / self.step_s + 1e-9)
        joined = not self._pen_up and t_s - self._last_s <= self._longest_join_s
        self._last_s, self._pen_up = t_s, False
        if self.places and index <= self.places[-1]:
            self.lows[-1] = min(self.lows[-1], value)
            self.highs[-1] = max(self.highs[-1], value)
            self.lasts[-1] = value
            return
        self.places.append(index)
        for column in (self.lows, self.highs, self.firsts, self.lasts):
            column.append(value)
        self.joined.append(joined)

    def forget_before(self, first: int) -> None:
        """Let go of the columns before one, but for the last with readings: the pen comes from there."""
        gone = bisect_left(self.places, first) - 1
        if gone > 0:
            for column in (self.places, self.lows, self.highs, self.firsts, self.lasts, self.joined):
                del column[:gone]


def spans(
    columns: Columns, first: int, count: int, scale: Scale, dots: int, *, least_dots: float = 1.0
) -> list[Span | None]:
    """Dots to set in ``count`` columns from column ``first`` on; None where the paper stays empty.

    Every reading lies within its column's span, rounded to a dot and held to the paper's edges; spans of joined
    neighbours touch, so that the line is unbroken, and columns between joined readings are bridged.

    Args:
        columns: extremes.
        first: index of the first column (``floor(t / step)``).
        count: columns to draw.
        scale: what the paper's edges mean.
        dots: height of the paper in dots, at least 1.
        least_dots: a column whose readings lie so far apart is never drawn as flat: coarse pens would hide a dip.
    """
    dot = scale.dot
    places, lows, highs, lasts, joined = columns.places, columns.lows, columns.highs, columns.lasts, columns.joined
    least, greatest, per_unit = scale.low, scale.high, (dots - 1) / (scale.high - scale.low)
    drawn: list[Span | None] = [None] * count
    begin, end = bisect_left(places, first), bisect_left(places, first + count)
    last = (dot(highs[begin - 1], dots), dot(lows[begin - 1], dots)) if begin else (0, 0)
    for at in range(begin, end):
        low, high = lows[at], highs[at]
        # Scale.dot, unrolled: this is the innermost loop of the screen.
        top = 0 if high >= greatest else dots - 1 if high <= least else round((greatest - high) * per_unit)
        bottom = top if low == high else dot(low, dots)
        if top == bottom and (high - low) * per_unit >= least_dots:
            top, bottom = _apart(top, (greatest - (high + low) / 2) * per_unit, dots)
        span = (top, bottom)
        if at and joined[at]:
            touches = places[at - 1] == places[at] - 1 and last[0] <= bottom + 1 and top <= last[1] + 1
            if not touches:
                span = _bridge(drawn, places[at - 1] - first, places[at] - first, dot(lasts[at - 1], dots), span)
        drawn[places[at] - first] = span
        last = (top, bottom)
    if 0 < end < len(places) and joined[end]:  # the pen's way to a reading beyond the right edge
        ahead = (dot(columns.firsts[end], dots),) * 2
        _bridge(drawn, places[end - 1] - first, places[end] - first, dot(lasts[end - 1], dots), ahead)
    return drawn


def span_of(low: float, high: float, scale: Scale, dots: int, *, least_dots: float = 1.0) -> Span:
    """Dots of one column by itself, not joined to its neighbours; arguments as for ``spans``."""
    top, bottom = scale.dot(high, dots), scale.dot(low, dots)
    per_unit = (dots - 1) / (scale.high - scale.low)
    if top == bottom and (high - low) * per_unit >= least_dots:
        return _apart(top, (scale.high - (high + low) / 2) * per_unit, dots)
    return top, bottom


def _apart(dot: int, middle: float, dots: int) -> Span:
    """Two dots for readings that would share one: the second on the side on which they lie."""
    if dots == 1:
        return dot, dot
    upwards = (middle < dot and dot > 0) or dot == dots - 1
    return (dot - 1, dot) if upwards else (dot, dot + 1)


def _bridge(drawn: list[Span | None], left: int, right: int, left_dot: int, span: Span) -> Span:
    """Draw the pen's way from one column with readings to the next; return the next one's span, grown to touch."""
    nearest = min(max(left_dot, span[0]), span[1])
    steps = right - left
    begin, end = max(1, -left), min(steps, len(drawn) - left)  # what lies on the paper
    previous = left_dot + round((nearest - left_dot) * (begin - 1) / steps)
    for step in range(begin, end):
        here = left_dot + round((nearest - left_dot) * step / steps)
        drawn[left + step] = _touching(previous, (here, here))
        previous = here
    previous = left_dot + round((nearest - left_dot) * (steps - 1) / steps)
    return _touching(previous, span)


def _touching(previous: int, span: Span) -> Span:
    top, bottom = span
    return (min(top, previous + 1), bottom) if previous < top else (top, max(bottom, previous - 1))


def raster(drawn: Sequence[Span | None], rows: int, pen: Pen) -> list[bytearray]:
    """Cells of a trace, row by row from the top; each cell holds its dots as bits.

    Args:
        drawn: span of each dot column.
        rows: character rows of the paper.
        pen: the pen; spans must have been made for ``rows * pen.down`` dots.
    """
    cells = [bytearray(-(-len(drawn) // pen.across)) for _ in range(rows)]
    for column, span in enumerate(drawn):
        _set_dots(cells, column, span, pen)
    return cells


def redraw(cells: list[bytearray], first: int, drawn: Sequence[Span | None], pen: Pen) -> None:
    """Draw a trace again from dot column ``first`` on, in the cells of an earlier ``raster``."""
    place, inner = divmod(first, pen.across)
    kept_bits = (1 << (inner * pen.down)) - 1
    for row in cells:
        row[place] &= kept_bits
        row[place + 1 :] = bytes(len(row) - place - 1)
    for offset, span in enumerate(drawn):
        _set_dots(cells, first + offset, span, pen)


def _set_dots(cells: list[bytearray], column: int, span: Span | None, pen: Pen) -> None:
    if span is None:
        return
    place, inner = divmod(column, pen.across)
    for dot in range(span[0], span[1] + 1):
        row, part = divmod(dot, pen.down)
        cells[row][place] |= 1 << (inner * pen.down + part)


def characters(cells: bytearray, pen: Pen) -> str:
    """One row of cells as text."""
    return "".join([pen.glyphs[cell] for cell in cells])
