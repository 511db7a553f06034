"""The analysis while it is recorded, and afterwards: the same code, fed with the same records."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import LoadStep, Phase
from benchmon.analysis.intake.seen_load import SeenLoad
from benchmon.analysis.intake.series import ObservationMaker
from benchmon.analysis.judged_rows import judged
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.plan.course import PlanCourse
from benchmon.analysis.rows import make_row, with_events
from benchmon.analysis.scores import with_scores
from benchmon.analysis.sustained import with_levels, with_sustained
from benchmon.analysis.thermal.forecast import make_forecast, refusal
from benchmon.analysis.thermal.grouping import hot_spots
from benchmon.analysis.thermal.heat_plateau import held, with_plateau
from benchmon.analysis.thermal.limits import limit_of
from benchmon.analysis.thermal.steady import SteadyState, steady_state
from benchmon.analysis.thermal.sustains import sustains
from benchmon.analysis.throttle.detector import Detector
from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.findings import Forecast, PhaseFindings, Summary, Sustains
from benchmon.model.plan_findings import PlanFindings, PlanProgress
from benchmon.model.records import MarkKind, Record, Sample, SessionEnd, SessionHeader

if TYPE_CHECKING:
    from benchmon.analysis.thermal.machine import MachineModel

LOOK_EVERY_S = 30.0
"""Session time between looks at the slower figures while it runs [s]."""
KEEP_EVERY_S = 60.0
"""What was forecast is kept so often [s]."""
_MOST_KEPT = 500
_LOOK_SHARE = 0.1
"""A phase that has lasted long changes slowly: looks are this share of its time apart at least."""


class LiveAnalysis:
    """Takes every record of one session, header first; knows events, phases and the verdict at any time.

    A second header begins anew.
    """

    def __init__(
        self,
        options: AnalysisOptions | None = None,
        boundaries_s: Iterable[float] = (),
        *,
        look_every_s: float = LOOK_EVERY_S,
        is_watched: bool = True,
    ) -> None:
        """Start before the header.

        Args:
            options: what a person told; None = nothing.
            boundaries_s: boundaries of phases that are known beforehand [s]: they make every figure exact.
            look_every_s: session time between forecasts [s].
            is_watched: somebody sees each forecast; otherwise only those are made that will be kept.
        """
        self.options = options or AnalysisOptions()
        self._boundaries_s = tuple(boundaries_s)
        self._look_every_s = look_every_s
        self._is_watched = is_watched
        self._look_share = min(_LOOK_SHARE * look_every_s / LOOK_EVERY_S, 1.0)
        self._begin()

    def _begin(self) -> None:
        self.notebook = Notebook(self._boundaries_s)
        self.notebook.assumed_room_c = self.options.room_c
        self.detector = Detector()
        self.is_ended = False
        self.forecast: Forecast | None = None
        """The latest forecast of the phase that runs; None if nothing was looked at yet."""
        self.sustains: Sustains | None = None
        """What the cooler sustains, as of the latest look while heat throttles; None if that cannot be said."""
        self.forecasts: list[Forecast] = []
        """What was said when: one a minute, those that said something."""
        self._told_events: dict[int, tuple[ThrottleEvent, ThrottleEvent]] = {}
        self._maker = ObservationMaker()
        self._seen_load = SeenLoad()
        self._plan = PlanCourse()
        self._rows: dict[Phase, PhaseFindings] = {}
        self._judged_open: PhaseFindings | None = None
        self._rows_version = -1
        self._look_s = 0.0 if self._look_every_s < float("inf") else float("inf")
        self._model: tuple[float, int, MachineModel | str] | None = None
        self._states: tuple[MachineModel | str | None, dict[Phase, SteadyState | str]] = (None, {})

    @property
    def events(self) -> tuple[ThrottleEvent, ...]:
        """All throttle events so far, with their sustained part; the last may still be open."""
        return tuple(self._told(event) for event in self.detector.events)

    def feed(self, record: Record) -> tuple[ThrottleEvent, ...]:
        """Take the next record; gives the events that are new or changed."""
        return tuple(self._told(event) for event in self.take(record))

    def take(self, record: Record) -> tuple[ThrottleEvent, ...]:
        """The same for whoever reads the events at the end only: here they are without what is read off the trace."""
        if isinstance(record, Sample):
            return self._take_sample(record)
        if isinstance(record, SessionHeader) and self.notebook.header is not None:
            self._begin()
        self._plan.feed(record)
        self.notebook.feed(record)
        self._maker.feed(record)
        if isinstance(record, SessionEnd) and not self.is_ended:
            self.is_ended = True
            return self.finish()
        return ()

    def _take_sample(self, sample: Sample) -> tuple[ThrottleEvent, ...]:
        has_second = self.notebook.take(sample)
        events = self.detector.push(self._maker.observe(sample))
        if has_second:
            self._each_second(sample.t_s)
        return events

    def plan(self) -> PlanFindings | None:
        """How far the session's plan came; None without one."""
        return self._plan.findings(self.notebook)

    def progress(self) -> PlanProgress | None:
        """What the plan waits for now; None if no phase of one runs. Cheap enough to be asked twice a second."""
        return self._plan.progress(self.notebook)

    def finish(self) -> tuple[ThrottleEvent, ...]:
        """Nothing more will come; gives the events that are changed by that."""
        self._rows = {}
        self._states = (None, {})
        self._judged_open = None
        self._told_events = {}
        return tuple(self._told(event) for event in self.detector.finish())

    def phases(self) -> tuple[PhaseFindings, ...]:
        """The rows of the sheet as they stand; cheap enough to be asked twice a second."""
        tracker = self.notebook.tracker
        if tracker.version != self._rows_version:
            self._rows = {}
            self._rows_version = tracker.version
        rows, events = [], self.events
        for phase in tracker.phases:
            row = self._rows.get(phase) or self._row(phase)
            if row.means or phase.is_marked or phase.end_s is None:
                row = with_events(row, events, self.notebook.now_s)
                rows.append(with_levels(row, events, self.notebook))
        return with_scores(rows, tracker.marks.of(MarkKind.SCORE))

    def model(self) -> MachineModel | str:
        """The joint model of the session as it stands, or why there is none; loads numpy."""
        try:
            import benchmon.analysis.fit.one_thread  # noqa: F401, PLC0415  (before numpy)
            from benchmon.analysis.thermal.machine import model_of  # noqa: PLC0415  (loaded when a fit is first needed)
        except (ImportError, RuntimeError):  # as on a processor that numpy was not built for
            return "numpy, which the fits need, cannot be loaded here"

        now_s, version = self.notebook.now_s, self.notebook.tracker.version
        if self._model is None or self._model[:2] != (now_s, version):
            self._model = (now_s, version, model_of(self.notebook, hot_spots(self.notebook)))
        return self._model[2]

    def states(self) -> dict[Phase, SteadyState | str]:
        """Each phase as it would settle, or why that cannot be said."""
        model = self.model()
        return {phase: self._state_of(phase, model) for phase in self.notebook.tracker.phases}

    def _state_of(self, phase: Phase, model: MachineModel | str) -> SteadyState | str:
        """The same of one phase; worked out once for a model."""
        if self._states[0] is not model:
            self._states = (model, {})
        states = self._states[1]
        if phase not in states:
            states[phase] = steady_state(self.notebook, phase, self.events, model)
        return states[phase]

    def look(self) -> Forecast:
        """Look at the slower figures now; the forecast of the phase that runs."""
        notebook = self.notebook
        phase = notebook.tracker.phases[-1]
        why = refusal(notebook, phase, self.events)
        model = None if why else self.model()
        self.forecast = make_forecast(notebook, phase, self.events, self.limit_c(), model)
        state: SteadyState | str = why
        if model is not None:
            state = steady_state(notebook, phase, self.events, model)
        if self._is_held:
            self.sustains = sustains(notebook, self.model(), self.events, self.options)
        row = make_row(notebook, phase)
        self._judged_open = judged(row, notebook, phase, state, events=self.events, options=self.options)
        self._keep(self.forecast)
        return self.forecast

    @property
    def _is_held(self) -> bool:
        """Whether heat throttles the processor now."""
        return bool(self.events) and self.events[-1].is_open and self.events[-1].cause is Cause.THERMAL

    def limit_c(self) -> float | None:
        """The limit that a forecast speaks of: given, else seen to be defended, else told [°C]."""
        return limit_of(self.notebook, self.options.limit_c, held(self.notebook, self.events))[0].value

    def summary(self) -> Summary:
        """Everything that can be concluded by now.

        Raises:
            ValueError: if no header was fed yet.
        """
        from benchmon.analysis.summary import summary_of  # noqa: PLC0415  (the live screen starts without it)

        return summary_of(self)

    def work_on(self) -> None:
        """Everything is worked out when it is fed or asked for."""

    def conclusion(self) -> Summary | None:
        """What can be concluded by now; None while that is being worked out, which it never is here."""
        return self.summary()

    def _told(self, event: ThrottleEvent) -> ThrottleEvent:
        """The event as it is told; made once for each time the detector gives it out."""
        known = self._told_events.get(event.number)
        if known is None or known[0] is not event:
            whole = with_sustained(event, self.notebook)
            known = self._told_events[event.number] = (event, with_plateau(whole, self.notebook))
        return known[1]

    def _row(self, phase: Phase) -> PhaseFindings:
        row = make_row(self.notebook, phase)
        if self._is_over(phase):
            state = self._state_of(phase, self.model())
            row = judged(row, self.notebook, phase, state, events=self.events, options=self.options)
            self._rows[phase] = row
        elif self._judged_open is not None and self._judged_open.start_s == phase.start_s:
            last = self._judged_open
            row = replace(row, settling=last.settling, resistance_k_per_w=last.resistance_k_per_w)
        return row

    def _is_over(self, phase: Phase) -> bool:
        return self.is_ended or (phase.end_s is not None and phase.end_s <= self.notebook.now_s)

    def _each_second(self, now_s: float) -> None:
        tracker = self.notebook.tracker
        if not tracker.loads_are_recorded and not tracker.marks.of(MarkKind.PHASE):
            step = self._see_load()
            if step is not None:
                tracker.add_load(step)
                self.notebook.cut()
        if now_s < self._look_s:
            return
        self._look_is_due(now_s)

    def _look_is_due(self, now_s: float) -> None:
        self._put_off(now_s)
        if self._is_watched or self._would_keep(now_s):
            self.look()

    def _put_off(self, now_s: float) -> None:
        """Set the time of the next look."""
        since_s = now_s - self.notebook.tracker.phases[-1].start_s
        self._look_s = now_s + max(self._look_every_s, self._look_share * since_s)

    def _see_load(self) -> LoadStep | None:
        trace = self.notebook.trace
        load, power = trace.last("load_pct"), trace.last("power_w")
        at = load or power
        if at is None:
            return None
        load_pct, power_w = (None if one is None else one[1] for one in (load, power))
        cores = self.notebook.tracker.logical_processors
        return self._seen_load.feed(at[0] - trace.bin_s / 2.0, load_pct, power_w, cores)

    def _keep(self, forecast: Forecast) -> None:
        if forecast.settles_at_c.value is not None and self._would_keep(forecast.said_at_s):
            self.forecasts.append(forecast)

    def _would_keep(self, now_s: float) -> bool:
        """Whether a forecast that says something would be kept now."""
        if len(self.forecasts) >= _MOST_KEPT:
            return False
        last = self.forecasts[-1] if self.forecasts else None
        phase = self.notebook.tracker.phases[-1].name
        return last is None or last.phase != phase or now_s - last.said_at_s >= KEEP_EVERY_S
