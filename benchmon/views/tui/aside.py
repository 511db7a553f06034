"""The running difference for output without a screen: fed along with a recording, asked for its words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Forecast, PhaseFindings, Summary, Sustains
from benchmon.model.plan_findings import PlanProgress
from benchmon.model.recorded import Recorded
from benchmon.model.records import Record
from benchmon.views.analyst import Analyst
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.than_before import than_before


class _FedElsewhere:
    """An analyst that somebody else feeds; it passes on what came of the latest record."""

    def __init__(self, analyst: Analyst) -> None:
        self._analyst = analyst
        self.latest: tuple[ThrottleEvent, ...] = ()

    @property
    def forecast(self) -> Forecast | None:
        return self._analyst.forecast

    @property
    def sustains(self) -> Sustains | None:
        return self._analyst.sustains

    def work_on(self) -> None:
        """Whoever feeds it does."""

    def conclusion(self) -> Summary | None:
        return None

    def feed(self, _: Record) -> tuple[ThrottleEvent, ...]:
        return self.latest

    def progress(self) -> PlanProgress | None:
        return self._analyst.progress()

    def phases(self) -> Sequence[PhaseFindings]:
        return self._analyst.phases()


class Aside:
    """What a recording is, held against an earlier run.

    Args:
        earlier: that run.
        analyst: of the recording; fed by whoever feeds this.
        new_analyst: makes the analyst of the earlier run.
    """

    def __init__(self, earlier: Recorded, analyst: Analyst, new_analyst: Callable[[], Analyst]) -> None:
        self._behind = Behind(earlier, new_analyst)
        self._analyst = _FedElsewhere(analyst)
        self._state = ViewState(lambda: self._analyst)

    def take(self, record: Record, events: tuple[ThrottleEvent, ...]) -> None:
        """The next record, and the events that came of it."""
        self._analyst.latest = events
        self._state.apply(record)

    def words(self) -> str:
        """The running difference, or why there is none; empty where no phase runs."""
        return than_before(self._state, self._analyst.phases(), self._behind)
