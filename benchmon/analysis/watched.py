"""The analysis as a screen uses it: what needs fits is worked out in a process of its own, and comes a moment later.

The fits' library would take as much memory as all the rest of the screen, on the machine under test; and a screen does
not stand still while it is being loaded. What comes is what ``LiveAnalysis`` would have said when the work was begun.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

from benchmon.analysis.apart import Apart
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.live import LOOK_EVERY_S, LiveAnalysis
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.rows import make_row
from benchmon.analysis.thermal.forecast import refusal
from benchmon.model.findings import Forecast, PhaseFindings, Summary, Sustains


class _State(NamedTuple):
    """Of what something was found; equal as long as nothing has come that could change it."""

    now_s: float
    version: int
    is_ended: bool


@dataclass(frozen=True, slots=True)
class _Found:
    """What was worked out apart."""

    state: _State
    forecast: Forecast | None
    sustains: Sustains | None
    open_row: PhaseFindings | None
    rows: dict[Phase, PhaseFindings]
    summary: Summary | None


class WatchedAnalysis(LiveAnalysis):
    """Shows what was found last until the next is there; works only where something has changed.

    ``work_on`` must be called now and then: it takes what has been found and begins what is due.
    """

    def __init__(self, options: AnalysisOptions | None = None) -> None:
        """Start before the header."""
        self._apart: Apart[_Found] = Apart()
        super().__init__(options)

    def _begin(self) -> None:
        super()._begin()
        self._apart.drop()
        self._is_copy = False
        """Whether this is the copy that works apart."""
        self._is_due = False
        self._is_conclusion_due = False
        self._not_before_s = 0.0
        """When it is tried again after it failed [s]."""
        self._last_rows: dict[float, PhaseFindings] = {}
        """By the start of a phase: what was found last, which is shown until it is found anew."""
        self._concluded: tuple[_State, Summary] | None = None

    def work_on(self) -> None:
        """Take what has been found, and begin what is due."""
        if self._apart.is_busy:
            is_over, found = self._apart.result()
            if is_over and found is None:
                self._not_before_s = self.notebook.now_s + LOOK_EVERY_S
            elif found is not None:
                self._take_found(found)
        if not self._is_due or self._apart.is_busy or self.notebook.now_s < self._not_before_s:
            return
        self._put_off(self.notebook.now_s)
        if not self._apart.begin(self._work):
            self._not_before_s = self.notebook.now_s + LOOK_EVERY_S
        self._is_due = self._is_conclusion_due = False

    def conclusion(self) -> Summary | None:
        """What can be concluded by now; None until it has been worked out."""
        if self._concluded is not None and self._concluded[0] == self._state():
            return self._concluded[1]
        if not self._apart.is_busy:
            self._is_due = self._is_conclusion_due = True
        return None

    def _state(self) -> _State:
        return _State(self.notebook.now_s, self.notebook.tracker.version, self.is_ended)

    def _look_is_due(self, now_s: float) -> None:
        if self._is_held or not refusal(self.notebook, self.notebook.tracker.phases[-1], self.events):
            self._is_due = True
        else:  # no fit is needed to say why nothing is said
            self._put_off(now_s)
            self.look()

    def _row(self, phase: Phase) -> PhaseFindings:
        if self._is_copy or not self._is_over(phase):
            return super()._row(phase)
        self._is_due = True
        row, last = make_row(self.notebook, phase), self._last_rows.get(phase.start_s)
        if last is None:
            return row
        return replace(row, settling=last.settling, resistance_k_per_w=last.resistance_k_per_w)

    def _work(self) -> _Found:
        """Apart: everything that is due, as it would be said at once."""
        self._is_copy = True
        known = set(self._rows) if self._rows_version == self.notebook.tracker.version else set()
        if not self.is_ended:
            self.look()
        self.phases()
        rows = {phase: row for phase, row in self._rows.items() if phase not in known}
        summary = self.summary() if self._is_conclusion_due else None
        return _Found(self._state(), self.forecast, self.sustains, self._judged_open, rows, summary)

    def _take_found(self, found: _Found) -> None:
        self.forecast, self.sustains = found.forecast, found.sustains
        rows = [*found.rows.values()]
        if found.open_row is not None and not self.is_ended:
            self._judged_open = found.open_row
            rows.append(found.open_row)
        self._last_rows.update({row.start_s: row for row in rows})
        state = self._state()
        if found.state[1:] == state[1:]:
            known = self._rows if self._rows_version == state.version else {}
            self._rows = {**known, **found.rows}
            self._rows_version = state.version
        if found.summary is not None:
            self._concluded = found.state, found.summary
