"""Finding room for words on a picture: near what they name, clear of one another, off the lines where they can be.

Lengths are in any unit that all boxes of a picture share; upwards counts positive.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]
Measure = Callable[[str], tuple[float, float]]
"""Width and height of words as they will be written."""
_CHUNKS = 150
"""A line is looked at in so many pieces."""
_FEWEST_LETTERS = 3


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle."""

    left: float
    low: float
    right: float
    high: float

    def meets(self, other: Box) -> bool:
        """Whether the two have more than an edge in common."""
        return self.left < other.right and other.left < self.right and self.low < other.high and other.low < self.high

    def holds(self, other: Box) -> bool:
        """Whether the other lies within this one."""
        inside = self.left <= other.left and other.right <= self.right
        return inside and self.low <= other.low and other.high <= self.high


class Paper:
    """What stands on a picture already.

    Args:
        edge: words stay within it.
    """

    def __init__(self, edge: Box) -> None:
        self._edge = edge
        self._taken: list[Box] = []
        self._lines: list[Box] = []

    def take(self, box: Box) -> None:
        """Nothing may be written here."""
        self._taken.append(box)

    def draw(self, points: Sequence[Point]) -> None:
        """A line runs here; words are written over it only where there is no other room."""
        step = max(1, -(-len(points) // _CHUNKS))
        for begin in range(0, max(len(points) - 1, 0), step):
            across, up = zip(*points[begin : begin + step + 1], strict=True)
            self._lines.append(Box(min(across), min(up), max(across) + 1e-9, max(up) + 1e-9))

    def place(self, wanted: Iterable[Box]) -> Box | None:
        """The first of the boxes that is free and crosses the fewest lines, now taken; None if none is free."""
        free = [one for one in wanted if self._edge.holds(one) and not any(one.meets(other) for other in self._taken)]
        if not free:
            return None
        best = min(free, key=lambda one: sum(one.meets(line) for line in self._lines))
        self._taken.append(best)
        return best


def around(at: Point, size: tuple[float, float], gap: float) -> list[Box]:
    """Places for words about a point, best first: beside it, then above and below, then farther off."""
    (x, y), (width, height) = at, size
    boxes = []
    for far in (gap, gap + height, gap + 2.2 * height, gap + 3.6 * height):
        rows = (y - far - height, y + far)
        beside = [(x + gap, low) for low in rows] + [(x - gap - width, low) for low in rows]
        level = [(x + gap + far, y - height / 2), (x - gap - far - width, y - height / 2)] if far == gap else []
        centred = [(x - width / 2, low) for low in rows]
        boxes += [
            Box(left, low, left + width, low + height) for left, low in (*level[:1], *beside, *level[1:], *centred)
        ]
    return boxes


def along(y: float, edge: Box, size: tuple[float, float], gap: float) -> list[Box]:
    """Places for words at a level line, best first: above it at the right end, below it, then farther left."""
    width, height = size
    lefts = [edge.right - width - gap, edge.left + gap]
    lefts += [edge.left + share * (edge.right - edge.left) - width / 2 for share in (0.75, 0.5, 0.25)]
    return [Box(left, low, left + width, low + height) for left in lefts for low in (y + 1.0, y - height - 1.0)]


def within(left: float, right: float, edge: Box, size: tuple[float, float], gap: float) -> list[Box]:
    """Places for words in a stretch from ``left`` to ``right``, best first: at its beginning and low."""
    width, height = size
    lows = [edge.low + gap + share * (edge.high - edge.low - height - 2 * gap) for share in (0.0, 1.0, 0.35, 0.7)]
    return [Box(at, low, at + width, low + height) for at in (left + gap, right - gap - width) for low in lows]


def shortened(words: str, width: float, measure: Measure) -> str:
    """The words as far as they go into a width, an ellipsis where they are cut; empty if nothing sensible is left."""
    if measure(words)[0] <= width:
        return words
    fit = bisect_right(range(1, len(words)), width, key=lambda letters: measure(f"{words[:letters]}…")[0])
    return f"{words[:fit].rstrip(' ,;:·')}…" if fit >= _FEWEST_LETTERS else ""


def names_along(spans: Iterable[tuple[float, float, str]], measure: Measure, gap: float) -> list[tuple[float, str]]:
    """Names over stretches of an axis: where each begins, and as much of it as there is room for before the next."""
    ordered = [*spans]
    ends = [after[0] for _, after in pairwise(ordered)] + [end for _, end, _ in ordered[-1:]]
    placed = []
    for (start, _, name), end in zip(ordered, ends, strict=True):
        words = shortened(name, end - start - 2 * gap, measure)
        if words:
            placed.append((start + gap, words))
    return placed
