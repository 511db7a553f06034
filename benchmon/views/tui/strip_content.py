"""What one strip is drawn from, and the paper that all strips share."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.views.traces import Scale, Span
from benchmon.views.tui.quantities import Line, Quantity
from benchmon.views.tui.track import Track
from benchmon.views.tui.window import Window


@dataclass(frozen=True, slots=True)
class Paper:
    """What all strips of one drawing have in common."""

    window: Window
    left: int
    """Columns of the margin at the left, with ticks."""
    cells: int
    """Columns of paper."""
    right: int
    """Columns of the margin at the right, with name and value."""
    ruled: tuple[int, ...]
    """Dot columns with a faint ruling: the ticks of the time axis."""
    edges: tuple[int, ...]
    """Dot columns at which phases begin."""
    cursor: int | None
    """Dot column of the cursor."""


@dataclass(frozen=True, slots=True)
class StripContent:
    """What is on one strip."""

    quantity: Quantity
    track: Track
    lines: tuple[Line, ...]
    scale: Scale
    ticks: tuple[float, ...]
    """Values that are labelled, evenly apart."""
    tick_decimals: int
    behind: tuple[Span | None, ...] | None
    """Spans of the earlier run; None without one."""
    value_words: str
    note: str
    """Which phase the value is of; empty for a reading."""
    behind_words: str
    pen_value: float | None
    """Where the pen stands now; None if it is lifted."""
