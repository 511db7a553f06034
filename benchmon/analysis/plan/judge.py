"""Says while it is recorded whether the present phase has settled and whether the processor is held back.

The same code as the sheet's, on the same records: what ended a phase as settled is settled on the sheet.
"""

from __future__ import annotations

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.series import ObservationMaker
from benchmon.analysis.judged_rows import settled_temperature
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.thermal.criteria import SHORTEST_WINDOW_S
from benchmon.analysis.throttle.detector import Detector
from benchmon.model.records import Record, SessionHeader


class PhaseJudge:
    """Hears every record of a session, header first.

    Args:
        options: what a person told; None = nothing.
    """

    def __init__(self, options: AnalysisOptions | None = None) -> None:
        self._options = options or AnalysisOptions()
        self._begin()

    def _begin(self) -> None:
        self._notebook = Notebook()
        self._detector = Detector()
        self._maker = ObservationMaker()
        self._settled_in: float | None = None
        """Start of the phase that has settled; None if none has."""

    def accept(self, record: Record) -> None:
        """Take the next record."""
        if isinstance(record, SessionHeader) and self._notebook.header is not None:
            self._begin()
        has_second = self._notebook.feed(record)
        observation = self._maker.feed(record)
        if observation is not None:
            self._detector.push(observation)
        if has_second:
            self._look()

    @property
    def is_settled(self) -> bool:
        """Whether the temperature of the present phase has settled."""
        phases = self._notebook.tracker.phases
        return bool(phases) and self._settled_in == phases[-1].start_s

    @property
    def held_since_s(self) -> float | None:
        """Since when the processor has been held back [s]; None if it is not."""
        last = self._detector.events[-1] if self._detector.events else None
        return last.start_s if last is not None and last.is_open else None

    def _look(self) -> None:
        phase = self._notebook.tracker.phases[-1]
        if self._notebook.now_s - phase.start_s < SHORTEST_WINDOW_S:
            return
        found = settled_temperature(self._notebook, phase, self._detector.events, self._options)
        self._settled_in = phase.start_s if found is not None and found.settled else None
