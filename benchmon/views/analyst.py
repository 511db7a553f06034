"""What the views need of the analysis: they take its meaning, and do not know how it is found."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Forecast, PhaseFindings, Summary, Sustains
from benchmon.model.plan_findings import PlanProgress
from benchmon.model.records import Record


class Analyst(Protocol):
    """What turns records into meaning; ``LiveAnalysis`` is one."""

    @property
    def forecast(self) -> Forecast | None:
        """The latest forecast; None if there is none to give."""

    @property
    def sustains(self) -> Sustains | None:
        """What the cooler sustains, as far as it has been seen; None if that cannot be said."""

    def work_on(self) -> None:
        """Take what has been worked out meanwhile, and begin what is due; called now and then."""

    def conclusion(self) -> Summary | None:
        """Everything that can be concluded by now; None while that is being worked out: ask again."""

    def feed(self, record: Record) -> tuple[ThrottleEvent, ...]:
        """Take the next record; return events that are new or changed."""

    def progress(self) -> PlanProgress | None:
        """What the session's plan waits for now; None if no phase of one runs."""

    def phases(self) -> Sequence[PhaseFindings]:
        """Rows of the bench sheet as they stand."""
