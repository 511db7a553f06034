"""A change between two sides as one number with its doubt, and what more runs would make of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

from benchmon.analysis.compare.samples import Difference, Sample, of_pairs, of_two, with_common
from benchmon.model.comparison import Answer
from benchmon.model.findings import Figure

MATTERS = 0.10
"""A change of less than this is no reason to take a box apart (judged): an interval within it is "no difference"."""
MOST_MORE_RUNS = 8
MOST_OPEN = 0.8
"""So much of a change is open at most, at the ends of the interval: beyond it, the interval would have no end."""


@dataclass(frozen=True, slots=True)
class Effects:
    """One value for each run of two sides, in logarithms: positive is better."""

    before: Sequence[float]
    after: Sequence[float]
    own_u: tuple[float, float]
    """What a run of each side is expected to scatter by."""
    common_u: float
    """What more runs do not make less."""
    change_u: float = 0.0
    """What is open of the change itself, as a share of it: that makes no change out of nothing."""
    pairs: Sequence[tuple[float, float]] = ()
    """Runs that the plan put together; empty = none."""
    sureness: float = 0.95
    """Of the interval; more where many comparisons are made at once."""

    def difference(self) -> Difference:
        """By how much the second side is better."""
        return with_common(self.own(), self.common_u)

    def interval(self, more: int = 0) -> tuple[float, float]:
        """Ends of the interval, if there were so many more runs of each that scatter as these (Fieller 1954).

        A change is within it if what was found is no further from it than what is open, and that grows with the change:
        (value - change)² = half² + (share · change)².
        """
        found = self._with(more)
        half = found.half(self.sureness)
        share = min(self.change_u * half / found.u, MOST_OPEN) if found.u else 0.0
        left = 1.0 - share * share
        root = sqrt(left * half * half + (share * found.value) ** 2)
        return (found.value - root) / left, (found.value + root) / left

    def _with(self, more: int) -> Difference:
        """The difference as so many more runs of each would leave it, if they scatter as these."""
        own = self.own()
        if self.pairs:
            share, runs = len(self.pairs) / (len(self.pairs) + more), more
        else:
            (a, b), (n, m) = [u * u for u in self.own_u], (len(self.before), len(self.after))
            of_mean = a / n + b / m
            share = 1.0 if of_mean == 0 else (a / (n + more) + b / (m + more)) / of_mean
            runs = 2 * more
        fewer = Difference(own.value, own.u * sqrt(share), own.degrees + runs)
        return with_common(fewer, self.common_u)

    def answer(self) -> Answer:
        """What the interval says."""
        return _said_by(*self.interval())

    def more_runs(self) -> int | None:
        """How many more runs of each would decide it if the difference stays; None = more than anybody would make."""
        added = range(1, MOST_MORE_RUNS + 1)
        return next((more for more in added if _said_by(*self.interval(more)) is not Answer.CANNOT_SAY), None)

    def change(self) -> Figure:
        """The change as a share of what was before."""
        low, high = self.interval()
        return Figure(exp(self.difference().value) - 1.0, exp(low) - 1.0, exp(high) - 1.0)

    def scatter(self) -> tuple[float, int]:
        """Squares of what repeats scatter by, and the degrees of freedom behind it."""
        samples = [Sample.of(side) for side in (self.before, self.after)]
        return sum(one.squares for one in samples), sum(one.count - 1 for one in samples)

    def scatter_after(self) -> tuple[float, int]:
        """The same of the second side alone."""
        after = Sample.of(self.after)
        return after.squares, after.count - 1

    def own(self) -> Difference:
        """The same without what all runs of a side have in common."""
        if self.pairs:
            apart = Sample.of([after - before for before, after in self.pairs])
            return of_pairs(apart, sqrt(self.own_u[0] ** 2 + self.own_u[1] ** 2))
        return of_two(Sample.of(self.before), Sample.of(self.after), self.own_u)


def _said_by(low: float, high: float) -> Answer:
    """What an interval says; of "no difference", that nothing that matters lies in it."""
    if low > 0.0:
        return Answer.BETTER
    if high < 0.0:
        return Answer.WORSE
    return Answer.SAME if max(-low, high) < log(1.0 + MATTERS) else Answer.CANNOT_SAY
