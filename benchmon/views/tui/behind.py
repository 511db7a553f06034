"""An earlier run behind the traces: each of its phases is laid under the phase of the same name."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from benchmon.model.findings import PhaseFindings
from benchmon.model.recorded import Recorded
from benchmon.views.analyst import Analyst
from benchmon.views.traces import Columns, Pen, Scale, Span, spans
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.window import Window


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of the earlier run, and how far it is moved."""

    start_s: float
    """On the earlier run's axis [s]."""
    end_s: float
    shift_s: float
    """Its time on the present run's axis is its own plus this [s]."""


class Behind:
    """The earlier run, folded once.

    Args:
        session: the earlier run.
        new_analyst: makes the analyst that finds its phases.
    """

    def __init__(self, session: Recorded, new_analyst: Callable[[], Analyst]) -> None:
        self.state = ViewState(new_analyst)
        for record in chain([session.header], session.records):
            self.state.apply(record)
        self.phases = tuple(self.state.analyst.phases())
        self.state.forget_analysis()
        self._drawn: dict[str, tuple[object, tuple[Span | None, ...]]] = {}
        """Key → what the latest drawing was made from, and the drawing."""
        self._columns: dict[tuple[str, float, Piece], Columns] = {}

    def pieces(self, phases: Sequence[PhaseFindings]) -> list[Piece]:
        """How the earlier run is laid under the present one: phase by phase; as a whole if no name is the same."""
        pieces: list[Piece] = []
        for phase, twin in self._twins(phases):
            end_s = self.state.now_s if twin.end_s is None else twin.end_s
            if phase.end_s is not None:
                end_s = min(end_s, twin.start_s + phase.end_s - phase.start_s)
            pieces.append(Piece(twin.start_s, end_s, phase.start_s - twin.start_s))
        if not pieces and not (phases and self.phases):
            return [Piece(0.0, self.state.now_s, 0.0)]
        return pieces

    def twin(self, phases: Sequence[PhaseFindings], phase: PhaseFindings) -> PhaseFindings | None:
        """The phase of the earlier run that is laid under one of the present ones; None = none."""
        return next((twin for one, twin in self._twins(phases) if one is phase), None)

    def _twins(self, phases: Sequence[PhaseFindings]) -> Iterator[tuple[PhaseFindings, PhaseFindings]]:
        left = list(self.phases)
        for phase in phases:
            twin = next((one for one in left if one.name.casefold() == phase.name.casefold()), None)
            if twin is not None:
                left.remove(twin)
                yield phase, twin

    def drawn(
        self, key: str, pieces: Sequence[Piece], window: Window, scale: Scale, rows: int, *, pen: Pen
    ) -> tuple[Span | None, ...] | None:
        """Spans of one quantity under the window; None if the earlier run has no such readings."""
        if key not in self.state.tracks:
            return None
        made_from = (tuple(pieces), window, scale, rows, pen.name)
        known, kept = self._drawn.get(key, (None, ()))
        if known != made_from:
            kept = self._draw(key, pieces, window, scale, rows, pen=pen)
            self._drawn[key] = (made_from, kept)
        return kept

    def _draw(
        self, key: str, pieces: Sequence[Piece], window: Window, scale: Scale, rows: int, *, pen: Pen
    ) -> tuple[Span | None, ...]:
        drawn: list[Span | None] = [None] * window.count
        for piece in pieces:
            first = max(window.column(piece.start_s + piece.shift_s), 0)
            last = min(window.column(piece.end_s + piece.shift_s), window.count - 1)
            if last < first:
                continue
            columns = self._binned(key, window.step_s, piece)
            shown = (window.first + first, last - first + 1)
            drawn[first : last + 1] = spans(columns, *shown, scale, rows * pen.down, least_dots=pen.least_dots)
        return tuple(drawn)

    def value_at(self, key: str, pieces: Sequence[Piece], t_s: float) -> float | None:
        """What the earlier run read at the same moment of the same phase; None if it did not get there."""
        track = self.state.tracks.get(key)
        for piece in reversed(pieces):
            own_s = t_s - piece.shift_s
            if track is not None and piece.start_s <= own_s <= piece.end_s:
                index = self.state.index_at(own_s)
                return None if index is None else track.at(index)
        return None

    def _binned(self, key: str, step_s: float, piece: Piece) -> Columns:
        place = (key, step_s, piece)
        if place not in self._columns:
            if len(self._columns) > 64:  # phases that were moved, zooms that were left
                self._columns.clear()
            track = self.state.tracks[key]
            self._columns[place] = track.moved_columns(step_s, piece.start_s, piece.end_s, piece.shift_s)
        return self._columns[place]
