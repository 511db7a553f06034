"""Which stretch of the session lies on the paper, and how fast the paper runs."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

STEPS_S = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0)
"""Time of one column of dots [s], from the fastest paper to the slowest."""
_LEAST_AUTO_S = 0.5
_LONGEST_AUTO_S = 1800.0
"""While nobody has zoomed, a run longer than this is followed instead of shown whole [s]."""
_FEEDS = 8
"""The paper is fed by this part of its width at a time, so that the picture stands still in between."""


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of the time axis in columns of dots."""

    first: int
    """Index of the first column: its time divided by ``step_s``."""
    count: int
    step_s: float

    @property
    def start_s(self) -> float:
        """Time of the left edge [s]."""
        return self.first * self.step_s

    @property
    def end_s(self) -> float:
        """Time of the right edge [s]."""
        return (self.first + self.count) * self.step_s

    def column(self, t_s: float) -> int:
        """Dot column of a time; beyond 0 … count - 1 where it is not on the paper."""
        return _place(t_s, self.step_s) - self.first


def _place(t_s: float, step_s: float) -> int:
    """Column of a time, counted from the session's start; a time that should lie on a boundary belongs to the right."""
    return floor(t_s / step_s + 1e-9)


def automatic_step(length_s: float, count: int, longest_s: float = _LONGEST_AUTO_S) -> float:
    """Fastest paper on which a run of that length fits whole, with some paper left ahead of the pen [s]."""
    wanted = min(length_s * 1.03, longest_s) / max(count, 1)
    return next((step for step in STEPS_S if step >= max(wanted, _LEAST_AUTO_S)), STEPS_S[-1])


def fitting_step(length_s: float, count: int) -> float:
    """Paper on which a run of that length, which is over, just fits [s]."""
    return max(length_s / max(count - 0.5, 0.5), STEPS_S[0])


def following_window(now_s: float, count: int, step_s: float) -> Window:
    """The window that shows ``now_s``, fed by parts of the paper's width."""
    feed = max(count // _FEEDS, 1)
    overrun = _place(now_s, step_s) + 1 - count
    return Window(0 if overrun <= 0 else ceil(overrun / feed) * feed, count, step_s)


def window_ending_at(end_s: float, count: int, step_s: float) -> Window:
    """The window whose right edge is at a time; never before the session's start."""
    return Window(max(ceil(end_s / step_s - 1e-9) - count, 0), count, step_s)


def other_step(step_s: float, by: int) -> float:
    """The paper speed ``by`` places slower (positive) or faster (negative)."""
    place = min(range(len(STEPS_S)), key=lambda index: abs(STEPS_S[index] - step_s))
    return STEPS_S[min(max(place + by, 0), len(STEPS_S) - 1)]
