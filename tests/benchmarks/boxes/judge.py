"""One box asked everything that the verdict gives, held against its truth."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.options import AnalysisOptions
from benchmon.model.findings import Figure
from benchmon.model.records import Sample
from tests.benchmarks.boxes.run import Phase, Run, make_run
from tests.benchmarks.boxes.session import records

LOOKS_S = (120.0, 180.0, 300.0)
LIMIT_SOON_S = 900.0
"""A time to the limit is due where it is truly reached so soon after it is asked for."""
DUE_S, HELD_S = 240.0, 120.0


@dataclass(frozen=True)
class Case:
    """One figure that is due."""

    figure: str
    cooler: str
    room: str
    seed: int
    given: bool
    covered: bool = False
    error: float = 0.0
    half: float = 0.0


@dataclass(frozen=True)
class Answer:
    """One answer to "would it hold?"."""

    cooler: str
    seed: int
    said: str
    truth: bool


class Judge:
    """Collects the cases of one box."""

    def __init__(self, run: Run) -> None:
        self.run, self.cases, self.answers = run, [], []

    def add(self, name: str, truth: float, figure: Figure, *, relative: bool = False, shift: float = 0.0) -> None:
        box = self.run.box
        if figure.value is None or figure.low is None or figure.high is None:
            self.cases.append(Case(name, box.kind, self.run.room_kind, self.run.seed, given=False))
            return
        scale = 100.0 / truth if relative else 1.0
        value, low, high = ((x - shift) * scale for x in (figure.value, figure.low, figure.high))
        goal = truth * scale
        self.cases.append(
            Case(
                name,
                box.kind,
                self.run.room_kind,
                self.run.seed,
                True,
                low <= goal <= high,
                value - goal,
                (high - low) / 2,
            )
        )

    def look(self, analysis: LiveAnalysis, phase: Phase, after_s: float) -> None:
        now_s = analysis.notebook.now_s
        if phase.limited_at_s is not None and phase.limited_at_s < now_s:
            return
        forecast = look(analysis)
        self.add(f"settled, said at {after_s / 60:.0f} min [K]", phase.settles_c, forecast.settles_at_c)
        if phase.reaches_s is not None and now_s < phase.reaches_s < now_s + LIMIT_SOON_S:
            self.add(
                f"time to the limit at {after_s / 60:.0f} min [s]",
                phase.reaches_s - now_s,
                forecast.limit_at_s,
                shift=now_s,
            )

    def end(self, analysis: LiveAnalysis) -> None:
        run, box = self.run, self.run.box
        rows = {round(row.start_s, 1): row for row in analysis.summary().phases}
        for phase in run.phases:
            row = rows.get(round(phase.start_s, 1))
            if row is None or not phase.busy or phase.limited_at_s is not None or phase.end_s - phase.start_s < DUE_S:
                continue
            name = "resistance, all cores [%]" if phase.busy == box.cores else "resistance, some cores [%]"
            self.add(name, phase.rise_k / phase.settles_w, row.resistance_k_per_w, relative=True)
        full = [phase for phase in run.phases if phase.busy == box.cores]
        if not full:
            return
        room_c = run.room_at(run.phases[-1].end_s)
        truth = box.capacity(run.limit_c, room_c, run.offset)
        held_s = max(
            (phase.end_s - phase.limited_at_s for phase in full if phase.limited_at_s is not None), default=0.0
        )
        thermal = analysis.summary().thermal
        if held_s > HELD_S:
            at = thermal.limit_c.value or run.limit_c
            self.add(
                "capacity, measured [%]",
                box.capacity(at, room_c, run.offset),
                thermal.capacity.measured_w,
                relative=True,
            )
        elif held_s == 0.0:
            self.add("capacity, predicted [%]", truth, thermal.capacity.predicted_w, relative=True)
        if held_s == 0.0 or held_s > HELD_S:
            self._another(analysis, truth, room_c)

    def _another(self, analysis: LiveAnalysis, capacity_w: float, room_c: float) -> None:
        run, box = self.run, self.run.box
        other = self.with_options(analysis, AnalysisOptions(limit_c=run.limit_c + 8.0, room_c=room_c + 5.0)).capacity
        figure = other.measured_w if other.measured_w.value is not None else other.predicted_w
        self.add(
            "predicted, other limit and room [%]",
            box.capacity(run.limit_c + 8.0, room_c + 5.0, run.offset),
            figure,
            relative=True,
        )
        for share in (0.75, 0.9, 1.1, 1.3):
            part = self.with_options(
                analysis, AnalysisOptions(limit_c=run.limit_c, room_c=room_c, part_watts=share * capacity_w)
            ).part
            self.answers.append(Answer(box.kind, run.seed, part.answer, share < 1.0))

    @staticmethod
    def with_options(analysis: LiveAnalysis, options: AnalysisOptions):
        """The verdict of the same records for another question, without feeding them again."""
        before, analysis.options = analysis.options, options
        try:
            return analysis.summary().thermal
        finally:
            analysis.options = before


def look(analysis: LiveAnalysis):
    """The forecast as of now."""
    return analysis.look()


def judged(seed: int) -> tuple[list[Case], list[Answer]]:
    run = make_run(seed)
    judge = Judge(run)
    analysis = LiveAnalysis(look_every_s=float("inf"))
    looks = [(p, after) for p in run.phases if p.busy for after in LOOKS_S if p.end_s - p.start_s > after]
    for record in records(run):
        analysis.feed(record)
        while isinstance(record, Sample) and looks and record.t_s >= looks[0][0].start_s + looks[0][1]:
            judge.look(analysis, *looks.pop(0))
    judge.end(analysis)
    return judge.cases, judge.answers


__all__ = ["Answer", "Case", "judged"]
