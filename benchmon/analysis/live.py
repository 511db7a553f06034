"""The analysis while it is recorded, and afterwards: the same code, fed with the same records."""

from __future__ import annotations

from collections.abc import Iterable

from benchmon.analysis.detector.detector import Detector
from benchmon.analysis.notebook import Notebook
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.phases import Phase
from benchmon.analysis.rows import make_row, with_events, with_scores
from benchmon.analysis.series import ObservationMaker
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Forecast, PhaseFindings, Summary
from benchmon.model.records import MarkKind, Record, SessionEnd


class LiveAnalysis:
    """Takes every record of one session, header first; knows events, phases and the verdict at any time."""

    def __init__(self, options: AnalysisOptions | None = None, boundaries_s: Iterable[float] = ()) -> None:
        """Start before the header; boundaries of phases that are known beforehand [s] make every figure exact."""
        self.options = options or AnalysisOptions()
        self.notebook = Notebook(boundaries_s)
        self.detector = Detector()
        self.is_ended = False
        self.forecasts: list[Forecast] = []
        self._maker = ObservationMaker()
        self._rows: dict[Phase, PhaseFindings] = {}
        self._rows_version = -1

    @property
    def events(self) -> tuple[ThrottleEvent, ...]:
        """All throttle events so far; the last may still be open."""
        return self.detector.events

    @property
    def forecast(self) -> Forecast | None:
        """The latest forecast of the phase that runs; None if there is nothing to say yet."""
        return self.forecasts[-1] if self.forecasts else None

    def feed(self, record: Record) -> tuple[ThrottleEvent, ...]:
        """Take the next record; gives the events that are new or changed."""
        self.notebook.feed(record)
        observation = self._maker.feed(record)
        if observation is not None:
            return self.detector.push(observation)
        if isinstance(record, SessionEnd) and not self.is_ended:
            self.is_ended = True
            return self.finish()
        return ()

    def finish(self) -> tuple[ThrottleEvent, ...]:
        """Nothing more will come; gives the events that are changed by that."""
        return self.detector.finish()

    def phases(self) -> tuple[PhaseFindings, ...]:
        """The rows of the sheet as they stand; cheap enough to be asked twice a second."""
        tracker = self.notebook.tracker
        if tracker.version != self._rows_version:
            self._rows = {}
            self._rows_version = tracker.version
        rows = []
        for phase in tracker.phases:
            row = self._rows.get(phase)
            if row is None:
                row = make_row(self.notebook, phase)
                if phase.end_s is not None and phase.end_s < self.notebook.now_s:
                    self._rows[phase] = row
            if row.means or phase.is_marked or phase.end_s is None:
                rows.append(with_events(row, self.events, self.notebook.now_s))
        return with_scores(rows, tracker.marks.of(MarkKind.SCORE))

    def summary(self) -> Summary:
        """Everything that can be concluded by now.

        Raises:
            ValueError: if no header was fed yet.
        """
        from benchmon.analysis.summary import summary_of  # noqa: PLC0415  (it is the larger half; the screen starts without)

        return summary_of(self)
