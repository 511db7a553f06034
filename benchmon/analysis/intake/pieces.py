"""The samples of a session as pieces that can be put together to phases, in bounded memory.

A phase may be marked after the fact, and marks may be withdrawn. So sums are kept for short pieces, and the samples
themselves for the last few minutes: a boundary there is exact; an older one that was not known in time moves to the
nearest edge of a piece. Whoever reads a whole file knows all boundaries before, and everything is exact.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from benchmon.analysis.intake.tally import Tally, join, tally
from benchmon.model.records import Sample

_PIECE_SAMPLES = 64
_KEPT_RAW = 32
"""So many of the last pieces keep their samples."""
_MOST_PIECES = 384
"""Beyond, old neighbours of one phase are joined."""


@dataclass(slots=True)
class _Piece:
    sums: Tally
    samples: tuple[Sample, ...] | None
    before_s: float | None


class Pieces:
    """Takes samples one by one; gives sums over any stretch between known boundaries."""

    def __init__(self, power_column: int | None, gap_s: float) -> None:
        """Start empty; the arguments are those of ``tally``."""
        self._power_column = power_column
        self._gap_s = gap_s
        self._done: list[_Piece] = []
        self._open: list[Sample] = []
        self._before_s: float | None = None
        self._cuts: list[float] = []
        self._next_cut_s = float("inf")
        self._most = _MOST_PIECES

    def add(self, sample: Sample) -> None:
        """Take the next sample."""
        if sample.t_s >= self._next_cut_s:
            self._close()
            self._next_cut_s = self._cut_after(sample.t_s)
        self._open.append(sample)
        if len(self._open) >= _PIECE_SAMPLES:
            self._close()

    def cut(self, at_s: float) -> None:
        """Let a piece begin at this time, past or to come [s]."""
        place = bisect_left(self._cuts, at_s)
        if place < len(self._cuts) and self._cuts[place] == at_s:
            return
        self._cuts.insert(place, at_s)
        last_s = self._open[-1].t_s if self._open else self._done[-1].sums.last_s if self._done else float("-inf")
        if at_s > last_s:
            self._next_cut_s = min(self._next_cut_s, at_s)
            return
        if self._open and at_s > self._open[0].t_s:
            self._close()
        self._split(at_s)

    def between(self, start_s: float, end_s: float | None) -> Tally | None:
        """Sums over ``start_s`` ≤ t < ``end_s`` [s]; None where there is no sample."""
        end = float("inf") if end_s is None else end_s
        first = bisect_left(self._done, start_s, key=_begin)
        parts = []
        for piece in self._done[first:]:
            if piece.sums.first_s >= end:
                break
            parts.append(piece.sums)
        if self._open and start_s <= self._open[0].t_s < end:
            parts.append(self._sum(self._open, self._before_s))
        return join(parts) if parts else None

    def _sum(self, samples: list[Sample], before_s: float | None) -> Tally:
        return tally(samples, before_s, self._power_column, self._gap_s)

    def _cut_after(self, t_s: float) -> float:
        place = bisect_right(self._cuts, t_s)
        return self._cuts[place] if place < len(self._cuts) else float("inf")

    def _close(self) -> None:
        if not self._open:
            return
        self._done.append(_Piece(self._sum(self._open, self._before_s), tuple(self._open), self._before_s))
        self._before_s = self._open[-1].t_s
        self._open = []
        if len(self._done) > _KEPT_RAW:
            self._done[-_KEPT_RAW - 1].samples = None
        if len(self._done) > self._most:
            self._compact()
            self._most = max(_MOST_PIECES, len(self._done) * 3 // 2)  # one for each phase is left

    def _split(self, at_s: float) -> None:
        for place, piece in enumerate(self._done):
            if piece.sums.first_s < at_s <= piece.sums.last_s and piece.samples is not None:
                left = [sample for sample in piece.samples if sample.t_s < at_s]
                right = [sample for sample in piece.samples if sample.t_s >= at_s]
                self._done[place : place + 1] = [
                    _Piece(self._sum(left, piece.before_s), tuple(left), piece.before_s),
                    _Piece(self._sum(right, left[-1].t_s), tuple(right), left[-1].t_s),
                ]
                return

    def _compact(self) -> None:
        """Join old neighbours in pairs, but never across a boundary."""
        old, recent = self._done[:-_KEPT_RAW], self._done[-_KEPT_RAW:]
        joined: list[_Piece] = []
        place = 0
        while place < len(old):
            pair = old[place : place + 2]
            if len(pair) == 2 and self._phase_number(pair[0]) == self._phase_number(pair[1]):
                joined.append(_Piece(join([piece.sums for piece in pair]), None, pair[0].before_s))
                place += 2
            else:
                joined.append(pair[0])
                place += 1
        self._done = joined + recent

    def _phase_number(self, piece: _Piece) -> int:
        return bisect_right(self._cuts, piece.sums.first_s)


def _begin(piece: _Piece) -> float:
    return piece.sums.first_s
