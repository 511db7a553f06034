"""Everything concluded about one session."""

from __future__ import annotations

from benchmon.analysis.intake.box import box_of, without_box
from benchmon.analysis.intake.caveats import limit_caveats, neighbour_caveats
from benchmon.analysis.intake.phases import PhaseTracker
from benchmon.analysis.live import LOOK_EVERY_S, LiveAnalysis
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.plan.experiment import experiment, named
from benchmon.analysis.thermal.verdict import thermal_findings, warnings_about
from benchmon.analysis.thermal.wall_power import wall_findings
from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded

NO_LOOKS_S = float("inf")
"""For ``summarise``: nobody asks what was forecast, and nearly all of its time is saved."""


def summarise(
    session: Recorded, options: AnalysisOptions | None = None, *, look_every_s: float = LOOK_EVERY_S
) -> Summary:
    """What ``LiveAnalysis`` says after all records; boundaries of phases are known beforehand, so sums are exact.

    Forecasts are made on the timetable of the live screen: what it is said to have said is what it said. With
    ``NO_LOOKS_S`` none are made; nothing else depends on them.
    """
    return summary_of(*analysed(session, options, look_every_s=look_every_s))


def analysed(
    session: Recorded, options: AnalysisOptions | None = None, *, look_every_s: float = LOOK_EVERY_S
) -> tuple[LiveAnalysis, tuple[str, ...]]:
    """The analysis after all records of a session, and sentences about what is damaged in it."""
    tracker = PhaseTracker()
    for record in session.others:
        tracker.feed(record)
    analysis = LiveAnalysis(
        options, (phase.start_s for phase in tracker.phases), look_every_s=look_every_s, is_watched=False
    )
    analysis.take(session.header)
    for record in session.records:
        analysis.take(record)
    if not analysis.is_ended:
        analysis.finish()
    notes = tuple(f"Line {damage.line} of the file is damaged: {damage.problem}." for damage in session.damage)
    return analysis, notes


def summary_of(analysis: LiveAnalysis, notes: tuple[str, ...] = ()) -> Summary:
    """The summary of what was fed so far; ``notes`` are sentences about the recording from elsewhere.

    Raises:
        ValueError: if no header was fed yet.
    """
    notebook = analysis.notebook
    header = notebook.header
    if header is None:
        message = "no header was fed yet"
        raise ValueError(message)
    is_damaged = bool(notes)
    if not analysis.is_ended:
        notes = (*notes, "The recording was not closed in good order, or still runs.")
    marks = notebook.tracker.marks
    phases = analysis.phases()
    tags = marks.tags(dict(header.tags))
    found = experiment(notebook, analysis.events)
    notes = (*notes, *limit_caveats(notebook.settings), *neighbour_caveats(phases), *warnings_about(notebook))
    return Summary(
        header=header,
        machine=notebook.machine,
        settings=dict(notebook.settings),
        tags=without_box(tags),
        marks=marks.all(),
        phases=phases,
        events=tuple(named(event, found) for event in analysis.events),
        thermal=thermal_findings(notebook, analysis.model(), analysis.states(), analysis.events, analysis.options),
        forecasts=tuple(analysis.forecasts),
        wall=wall_findings(notebook, notebook.tracker.phases),
        quality=notebook.quality.quality(notes),
        detector_version=analysis.detector.VERSION,
        is_complete=analysis.is_ended and not is_damaged,
        commands=notebook.commands.runs,
        box=box_of(notebook.settings, tags),
        plan=analysis.plan(),
        experiment=found,
    )
