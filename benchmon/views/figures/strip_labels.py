"""Where the words of a strip stand: limits, throttled stretches, readings at the wall. The same for every format."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from benchmon.views.figures.labels import Box, Measure, Paper, along, around, within
from benchmon.views.figures.run_picture import RunPicture, Strip, zigzag
from benchmon.views.figures.ticks import round_ticks


@dataclass(frozen=True, slots=True)
class Layout:
    """A strip's paper: its size, and how large words of each kind are, all in one unit; upwards counts positive."""

    width: float
    height: float
    level: Measure
    stretch: Measure
    point: Measure
    gap: float
    """Room left about words."""


@dataclass(frozen=True, slots=True)
class Label:
    """Words in a box of the strip; ``kind`` is level, stretch or point."""

    kind: str
    words: str
    box: Box


@dataclass(frozen=True, slots=True)
class Scale:
    """Where readings lie on a strip of one height."""

    ticks: tuple[float, ...]
    height: float

    def up(self, value: float) -> float:
        """Height of a value above the strip's foot."""
        low, high = self.ticks[0], self.ticks[-1]
        return self.height * (value - low) / (high - low)


def scale_of(strip: Strip, height: float) -> Scale:
    """The axis of a strip: everything on it lies between its first and its last tick."""
    values = [strip.low, strip.high, *(level for level, _ in strip.levels), *(value for _, value, _ in strip.points)]
    return Scale(tuple(round_ticks(min(values), max(values), 4)), height)


def strip_labels(strip: Strip, picture: RunPicture, layout: Layout, *, with_stretches: bool) -> list[Label]:
    """All words on the paper of a strip; of what finds no room the words are left out.

    Args:
        strip: what is drawn.
        picture: the run it belongs to.
        layout: size of the paper and of words.
        with_stretches: whether this is the strip at which throttled stretches are named.
    """
    scale = scale_of(strip, layout.height)
    edge = Box(0.0, -0.5, layout.width, layout.height + 0.5)
    paper = Paper(edge)

    def across(t_s: float) -> float:
        return layout.width * t_s / picture.until_s

    for piece in (*strip.earlier, *strip.pieces):
        paper.draw([(across(t_s), scale.up(value)) for t_s, value in zigzag(piece)])
    for value, _ in strip.levels:
        paper.draw([(layout.width * part / 40, scale.up(value)) for part in range(41)])
    circles = [((across(t_s), scale.up(value)), words) for t_s, value, words in strip.points]
    for (x, y), _ in circles:
        paper.take(Box(x - layout.gap, y - layout.gap, x + layout.gap, y + layout.gap))
    found = [
        *(
            _Wanted("level", words, along(scale.up(value), edge, layout.level(words), layout.gap))
            for value, words in strip.levels
        ),
        *(_stretches(picture, layout, edge, across) if with_stretches else ()),
        *(_Wanted("point", words, around(at, layout.point(words), layout.gap * 1.2)) for at, words in circles),
    ]
    placed = [(one, paper.place(one.boxes)) for one in found]
    return [Label(one.kind, one.words, box) for one, box in placed if box is not None]


@dataclass(frozen=True, slots=True)
class _Wanted:
    kind: str
    words: str
    boxes: list[Box]


def _stretches(picture: RunPicture, layout: Layout, edge: Box, across: Callable[[float], float]) -> Iterable[_Wanted]:
    """Words for each stretch; where they are longer than it is, only for the first of its cause."""
    said: set[str] = set()
    for stretch in picture.stretches:
        left, right = across(stretch.start_s), across(stretch.end_s)
        size = layout.stretch(stretch.words)
        if size[0] + 2 * layout.gap <= right - left or stretch.words not in said:
            said.add(stretch.words)
            yield _Wanted("stretch", stretch.words, within(left, right, edge, size, layout.gap))
