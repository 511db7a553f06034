"""One-to-one matching of events to true intervals by overlap, with fragments counted."""

from __future__ import annotations

from dataclasses import dataclass

TEETH_GAP_S = 20.0
"""True intervals of one cause closer than this are one: the teeth of a saw."""


@dataclass(frozen=True)
class Span:
    """A stretch of time with a cause; ``plateau_c`` where one was held."""

    start_s: float
    end_s: float
    cause: str
    plateau_c: float | None = None
    latched: bool = False
    """A single drop to a clock that stays: without limits or a counter, nothing in it tells its cause."""

    @property
    def length_s(self) -> float:
        return max(self.end_s - self.start_s, 0.0)


def join_teeth(spans: list[Span], gap_s: float = TEETH_GAP_S) -> list[Span]:
    """Spans of the same cause with less than ``gap_s`` between them become one."""
    joined: list[Span] = []
    for span in sorted(spans, key=lambda known: known.start_s):
        last = joined[-1] if joined else None
        if last is not None and last.cause == span.cause and span.start_s - last.end_s < gap_s:
            joined[-1] = Span(last.start_s, max(last.end_s, span.end_s), last.cause, span.plateau_c or last.plateau_c)
        else:
            joined.append(span)
    return joined


def overlap_s(one: Span, other: Span) -> float:
    return max(0.0, min(one.end_s, other.end_s) - max(one.start_s, other.start_s))


def overlap_share(one: Span, other: Span) -> float:
    """Intersection over union, 0 … 1."""
    common = overlap_s(one, other)
    union = one.length_s + other.length_s - common
    return common / union if union > 0.0 else 0.0


def match(found: list[Span], true: list[Span], least_share: float) -> dict[int, int]:
    """Index of a found span → index of its true one; each at most once, best overlaps first.

    Args:
        found: what the detector said.
        true: what really was.
        least_share: least intersection over union; 0 means any common time.
    """
    pairs = [
        (overlap_share(said, real), place, other)
        for place, said in enumerate(found)
        for other, real in enumerate(true)
        if overlap_s(said, real) > 0.0
    ]
    pairs.sort(reverse=True)
    taken: dict[int, int] = {}
    used: set[int] = set()
    for share, place, other in pairs:
        if share >= least_share and place not in taken and other not in used:
            taken[place] = other
            used.add(other)
    return taken


def fragments(found: list[Span], true: list[Span], taken: dict[int, int]) -> int:
    """Found spans without a match of their own that lie in a true span that another one matched."""
    matched = set(taken.values())
    return sum(
        1
        for place, said in enumerate(found)
        if place not in taken and any(overlap_s(said, true[other]) > 0.5 * said.length_s for other in matched)
    )
