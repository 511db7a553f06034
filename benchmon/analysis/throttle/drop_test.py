"""Sequential test for a drop: a one-sided cumulative sum of the relative deficit (Page 1954)."""

from __future__ import annotations


class DropTest:
    """Sums deficit beyond a slack; fires at a threshold; knows since when it has been down.

    >>> test = DropTest()
    >>> [test.feed(t, d, slack=0.015, threshold=0.045) for t, d in enumerate([0, 0, 0.1, 0.1])]
    [False, False, False, True]
    >>> test.onset_s
    2.0
    """

    __slots__ = ("count", "onset_s", "total")

    def __init__(self) -> None:
        """Start at zero."""
        self.total = 0.0
        self.onset_s = 0.0
        self.count = 0

    def feed(self, t_s: float, deficit: float, slack: float, threshold: float) -> bool:
        """Take the next relative deficit; True while the sum has passed the threshold on two samples or more."""
        excess = deficit - slack
        if self.total <= 0.0:
            if excess <= 0.0:
                return False
            self.onset_s = float(t_s)
            self.count = 0
        self.total += min(excess, threshold * 2.0)
        if self.total <= 0.0:
            self.total = 0.0
            return False
        if excess > 0.0:
            self.count += 1
        return self.total >= threshold and self.count >= 2

    def reset(self) -> None:
        """Back to zero."""
        self.total = 0.0
        self.count = 0
