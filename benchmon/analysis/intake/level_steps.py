"""Steps between the levels at which a quantity stands: found a while later, dated back to where they began."""

from __future__ import annotations

from collections import deque
from statistics import median
from typing import NamedTuple

LASTS_S = 15.0
"""A level stands at least so long [s]: longer than the bursts of an idle machine and the teeth of most saws."""
_FORGETS_BINS = 60
"""A level follows slow drift: it is a mean over about so many bins."""
_PART_OF_WAY = 0.12
_MOST_OTHERS = 0.2
"""So many of a new level's bins may lie nearer to the old one."""


class Step(NamedTuple):
    """From ``began_s`` on [s] it stands at ``after``, and no longer at ``before``."""

    began_s: float
    before: float
    after: float


class LevelSteps:
    """Follows one quantity, one mean after another.

    What came last is kept apart for ``LASTS_S``. When the medians of both its halves stand away from the level, on the
    same side and beside each other, and nearly all of it with them, a new level has begun. So a small step is seen in a
    noisy load, and neither bursts nor teeth nor a slow drift are taken for one.

    Args:
        least_move: a smaller step is none, in the quantity's unit.
        most_unrest: the two halves of a new level lie no further apart than this.
    """

    def __init__(self, least_move: float, most_unrest: float) -> None:
        self.least_move = least_move
        self.most_unrest = most_unrest
        self.level: float | None = None
        """Where it stands; None before the first mean."""
        self._count = 0
        self._recent: deque[tuple[float, float]] = deque()

    def begin_anew(self) -> None:
        """Forget everything: what comes next stands at a level of its own."""
        self.level, self._count = None, 0
        self._recent.clear()

    def feed(self, at_s: float, value: float) -> Step | None:
        """Take the mean of the next bin, which began at ``at_s`` [s]; gives the step once it is sure."""
        if self.level is None:
            self.level = value
        self._recent.append((at_s, value))
        while len(self._recent) > 2 and at_s - self._recent[1][0] >= LASTS_S:
            self._settle(self._recent.popleft()[1])
        if at_s - self._recent[0][0] < LASTS_S:
            return None
        if not self._has_moved(self.level):
            return None
        before, after = self.level, median(value for _, value in self._recent)
        self.level, self._count = after, len(self._recent)
        return Step(self._onset(before, after), before, after)

    def _settle(self, value: float) -> None:
        self._count = min(self._count + 1, _FORGETS_BINS)
        if self.level is None:
            self.level = value
        else:  # a burst moves it no further than a step may go unseen
            self.level += max(-self.least_move, min(self.least_move, value - self.level)) / self._count

    def _has_moved(self, level: float) -> bool:
        values = [value for _, value in self._recent]
        first, second = median(values[: len(values) // 2]), median(values[len(values) // 2 :])
        is_away = min(abs(first - level), abs(second - level)) > self.least_move
        if not is_away or abs(first - second) > self.most_unrest or (first > level) is not (second > level):
            return False
        halfway = (level + second) / 2.0
        others = sum((value > halfway) is not (second > level) for value in values)
        return others <= _MOST_OTHERS * len(values)

    def _onset(self, before: float, after: float) -> float:
        """Where the recent values change sides: after the lowest point of the summed distance from half way.

        The bin before it is a mean over the step itself if it has gone a part of the way.
        """
        ways = [(value - before) / (after - before) for _, value in self._recent]
        lowest = total = 0.0
        first = 0
        for place, way in enumerate(ways[:-1]):
            total += way - 0.5
            if total < lowest:
                lowest, first = total, place + 1
        if first and ways[first - 1] > _PART_OF_WAY:
            first -= 1
        return self._recent[first][0]
