"""What a list says of one session: what stands in its file, and what has to be worked out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from benchmon.errors import SessionFormatError


class Facts(NamedTuple):
    """What stands in the file; found without looking at its samples."""

    problem: str = ""
    """Why it cannot be opened; empty for a good file. Then nothing else is known."""
    started_at: str = ""
    """UTC, as ISO 8601 writes it."""
    length_s: float | None = None
    """None: it has no end, because it was cut or is still being recorded [s]."""
    machine: str = ""
    tags: Mapping[str, str] = {}
    phases: tuple[str, ...] = ()
    """Names of those that were marked or are of a recorded load."""


class Capacity(NamedTuple):
    """Watts that the cooler holds, as it is kept: its classes alone are loaded in a moment."""

    value: float | None = None
    low: float | None = None
    high: float | None = None
    """Ends of the 95 % interval [W]."""
    why_not: str | None = None
    """Why there is no value."""


class WorkedOut(NamedTuple):
    """What the analysis says."""

    held_back_by: tuple[str, ...]
    """Codes of the causes of its throttle events, the most frequent first."""
    capacity_w: Capacity
    """Measured where that was seen, else predicted."""
    is_measured: bool


def facts_of(path: Path) -> Facts:
    """The facts of one file; one that cannot be opened says why.

    Raises:
        FileNotFoundError: if it has gone.
    """
    from benchmon.analysis.intake.phases import PhaseTracker  # noqa: PLC0415  (not needed where all is kept)
    from benchmon.model.records import Machine, SessionEnd  # noqa: PLC0415
    from benchmon.session.reader import StoredSession  # noqa: PLC0415

    try:
        session = StoredSession(path)
    except SessionFormatError as error:
        path.lstat()  # it may have gone meanwhile: that is no broken file
        return Facts(problem=error.message)
    tracker = PhaseTracker()
    machine, end = session.header.virtual, None
    for record in session.others:
        tracker.feed(record)
        if isinstance(record, Machine):
            machine = record.processor or record.product or machine
        elif isinstance(record, SessionEnd):
            end = record.t_s
    return Facts(
        started_at=session.header.started_at.isoformat(timespec="seconds"),
        length_s=end,
        machine=machine,
        tags=tracker.marks.tags(dict(session.header.tags)),
        phases=tuple(phase.name for phase in tracker.phases),
    )


def worked_out(path: Path) -> WorkedOut | None:
    """What the analysis says of one file; None if it cannot be read.

    Any processor time a sheet takes is taken here too, but not its forecasts.
    """
    from collections import Counter  # noqa: PLC0415

    from benchmon.analysis.summary import NO_LOOKS_S, summarise  # noqa: PLC0415
    from benchmon.session.reader import StoredSession  # noqa: PLC0415

    try:
        summary = summarise(StoredSession(path), look_every_s=NO_LOOKS_S)
    except SessionFormatError:
        return None
    causes = Counter(event.cause.value for event in summary.events)
    capacity = summary.thermal.capacity
    is_measured = capacity.measured_w.value is not None
    found = capacity.measured_w if is_measured else capacity.predicted_w
    return WorkedOut(
        tuple(cause for cause, _ in causes.most_common()),
        Capacity(found.value, found.low, found.high, found.why_not),
        is_measured,
    )


def facts_as_kept(facts: Facts) -> list[Any]:
    """Plain values for the cache."""
    return [*facts[:4], dict(facts.tags), list(facts.phases)]


def facts_from(kept: Sequence[Any]) -> Facts:
    """The facts as they were kept.

    Raises:
        TypeError, ValueError: if they are none.
    """
    problem, started_at, length_s, machine, tags, phases = kept
    if started_at:
        datetime.fromisoformat(started_at)
    return Facts(problem, started_at, length_s, machine, {**tags}, tuple(phases))


def worked_out_as_kept(found: WorkedOut) -> list[Any]:
    """Plain values for the cache."""
    return [list(found.held_back_by), list(found.capacity_w), found.is_measured]


def worked_out_from(kept: Sequence[Any]) -> WorkedOut:
    """What was worked out, as it was kept.

    Raises:
        TypeError, ValueError: if it is none.
    """
    held_back_by, capacity_w, is_measured = kept
    return WorkedOut(tuple(held_back_by), Capacity(*capacity_w), bool(is_measured))
