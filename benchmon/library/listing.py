"""Which sessions of a list are meant, in which order, and how the list looks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from benchmon.library.facts import WorkedOut
from benchmon.library.index import Listed
from benchmon.model.events import Cause
from benchmon.plain_text import one_line
from benchmon.session.naming import bare_name
from benchmon.views.doors import json_text
from benchmon.views.numbers import NOT_READ, duration, figure_text

NOTHING = "nothing"
CAUSES = {"heat": Cause.THERMAL, "power": Cause.POWER_LIMIT, "outside": Cause.OUTSIDE, "unexplained": Cause.UNEXPLAINED}
"""What people say for what throttled a processor."""
_SAID = {cause.value: word for word, cause in CAUSES.items()}
_COLUMNS = ("when", "length", "throttled by", "sustains", "machine", "tags", "phases", "session")
_NARROW = ("when", "length", "throttled by", "sustains", "session")
_MOST = {"machine": 18, "tags": 30, "phases": 34}
WIDE_FROM = 120
"""A terminal narrower than this gets fewer columns."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which sessions are asked for; what is empty or None asks for nothing."""

    tags: Sequence[tuple[str, str | None]] = ()
    """Key and value; None for any value."""
    machine: str = ""
    """A part of its name."""
    since: date | None = None
    until: date | None = None
    held_back_by: str = ""
    """A key of ``CAUSES``, or ``NOTHING``."""

    @property
    def needs_working_out(self) -> bool:
        """Whether the facts of the files do not decide it."""
        return bool(self.held_back_by)

    def fits(self, one: Listed) -> bool:
        """Whether the facts fit; broken files fit only where nothing is asked."""
        facts = one.facts
        if facts.problem:
            return self == Wanted()
        day = datetime.fromisoformat(facts.started_at).astimezone().date()
        return (
            all(key in facts.tags and value in (None, facts.tags[key]) for key, value in self.tags)
            and self.machine.casefold() in facts.machine.casefold()
            and (self.since is None or day >= self.since)
            and (self.until is None or day <= self.until)
        )

    def fits_cause(self, one: Listed) -> bool:
        """Whether what held it back fits; not where that is not known."""
        if not self.held_back_by:
            return True
        found = one.worked_out
        if found is None:
            return False
        if self.held_back_by == NOTHING:
            return not found.held_back_by
        return CAUSES[self.held_back_by].value in found.held_back_by


SORTS: dict[str, Callable[[Listed], Any]] = {
    "when": lambda one: one.facts.started_at,
    "machine": lambda one: one.facts.machine.casefold(),
    "length": lambda one: one.facts.length_s or 0.0,
    "sustains": lambda one: (one.worked_out and one.worked_out.capacity_w.value) or 0.0,
}
"""What a list can be sorted by."""


def names_of(sessions: Sequence[Listed], home: Path) -> dict[Path, str]:
    """What each session is called so that every command finds it: its name if it lies at home, else its path."""
    home = home.absolute()
    seen = Counter(bare_name(one.path.name) for one in sessions if one.path.parent == home)
    return {
        one.path: (bare_name(one.path.name) if seen[bare_name(one.path.name)] == 1 else one.path.name)
        if one.path.parent == home
        else str(one.path)
        for one in sessions
    }


def table(sessions: Sequence[Listed], names: dict[Path, str], width: int | None) -> str:
    """One line a session, with a heading; ``width`` of the terminal, None where there is none."""
    columns = _COLUMNS if width is None or width >= WIDE_FROM else _NARROW
    rows = [_cells(one, names[one.path]) for one in sessions if not one.facts.problem]
    lines = [dict(zip(_COLUMNS, _COLUMNS, strict=True)), *rows]
    wide = {column: max(len(row[column]) for row in lines) for column in columns}
    text = ["  ".join(row[column].ljust(wide[column]) for column in columns).rstrip() for row in lines]
    if not rows:
        text = []
    return "\n".join(text + [_broken(one, names[one.path]) for one in sessions if one.facts.problem])


def _broken(one: Listed, name: str) -> str:
    return f"broken: {one_line(name)}: {one_line(one.facts.problem)}"


def _cells(one: Listed, name: str) -> dict[str, str]:
    facts = one.facts
    when = datetime.fromisoformat(facts.started_at).astimezone().strftime("%Y-%m-%d %H:%M")
    tags = " ".join(f"{key}={value}" for key, value in facts.tags.items())
    cells = {
        "when": when,
        "length": "no end" if facts.length_s is None else duration(facts.length_s),
        "throttled by": _held_back(one.worked_out),
        "sustains": _holds(one.worked_out),
        "machine": facts.machine or NOT_READ,
        "tags": tags or NOT_READ,
        "phases": ", ".join(facts.phases),
        "session": name,
    }
    return {column: _short(one_line(text), _MOST.get(column)) for column, text in cells.items()}


def _short(text: str, most: int | None) -> str:
    return text if most is None or len(text) <= most else text[: most - 1].rstrip() + "…"


def _held_back(found: WorkedOut | None) -> str:
    if found is None:
        return "?"
    return ", ".join(_SAID.get(cause, cause) for cause in found.held_back_by) or NOTHING


def _holds(found: WorkedOut | None) -> str:
    if found is None:
        return "?"
    return NOT_READ if found.capacity_w.value is None else figure_text(found.capacity_w, "W")


def document(sessions: Sequence[Listed], names: dict[Path, str]) -> str:
    """The same for programs."""
    return json_text({"sessions": [_fields(one, names[one.path]) for one in sessions]}, indent=1) + "\n"


def _fields(one: Listed, name: str) -> dict[str, Any]:
    facts, found = one.facts, one.worked_out
    if facts.problem:
        return {"session": one_line(name), "file": one_line(str(one.path)), "problem": facts.problem}
    return {
        "session": one_line(name),
        "file": one_line(str(one.path)),
        "started_at": datetime.fromisoformat(facts.started_at).astimezone(UTC).isoformat(),
        "length_s": facts.length_s,
        "machine": facts.machine,
        "tags": dict(facts.tags),
        "phases": list(facts.phases),
        "held_back_by": None if found is None else list(found.held_back_by),
        "capacity_w": None if found is None else _figure(found),
    }


def _figure(found: WorkedOut) -> dict[str, Any]:
    figure = found.capacity_w
    if figure.value is None:
        return {"value": None, "why_not": figure.why_not}
    return {"value": figure.value, "low": figure.low, "high": figure.high, "measured": found.is_measured}
