"""Which sessions of a list are meant, in which order, and how the list looks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from benchmon.library.facts import WorkedOut
from benchmon.library.index import Listed
from benchmon.plain_text import one_line
from benchmon.session.naming import bare_name
from benchmon.views.doors import json_text
from benchmon.views.numbers import NOT_READ, duration, figure_text

NOTHING = "nothing"
CAUSES = {"heat": "thermal", "power": "power_limit", "outside": "outside", "unexplained": "unexplained"}
"""What people say for what throttled a processor, and its code."""
_SAID = {code: word for word, code in CAUSES.items()}
_ALWAYS = ("when", "length", "throttled by", "sustains")
_IF_THERE_IS_ROOM = ("tags", "machine", "phases")
"""What a narrow terminal shows besides, the first ones first."""
_MOST = {"machine": 18, "tags": 30, "phases": 34}
_APART = 2
_MOST_NAMED = 20
"""So many tags are named where one was mistyped."""


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
        return (
            all(key in facts.tags and value in (None, facts.tags[key]) for key, value in self.tags)
            and self.machine.casefold() in facts.machine.casefold()
            and ((self.since is None and self.until is None) or self._fits_day(facts.started_at))
        )

    def _fits_day(self, started_at: str) -> bool:
        day = datetime.fromisoformat(started_at).astimezone().date()
        return (self.since is None or day >= self.since) and (self.until is None or day <= self.until)

    def fits_cause(self, one: Listed) -> bool:
        """Whether what held it back fits; not where that is not known."""
        if not self.held_back_by:
            return True
        found = one.worked_out
        if found is None:
            return False
        if self.held_back_by == NOTHING:
            return not found.held_back_by
        return CAUSES[self.held_back_by] in found.held_back_by


SORTS: dict[str, Callable[[Listed], Any]] = {
    "when": lambda one: one.facts.started_at,
    "machine": lambda one: one.facts.machine.casefold(),
    "length": lambda one: one.facts.length_s or 0.0,
    "sustains": lambda one: (one.worked_out and one.worked_out.capacity_w.value) or 0.0,
}
"""What a list can be sorted by."""


def names_of(sessions: Sequence[Listed], home: Path) -> dict[str, str]:
    """What each file is called so that every command finds it: its name if it lies at home, else its path."""
    at_home = f"{str(home.absolute()).rstrip('/')}/"
    depth = len(at_home)
    names = {
        one.file: one.file[depth:] for one in sessions if one.file.startswith(at_home) and "/" not in one.file[depth:]
    }
    bare_names = [bare_name(name) for name in names.values()]
    seen = Counter(bare_names)
    for (file, name), bare in zip(names.items(), bare_names, strict=True):
        if name.startswith("-"):  # it would be taken for an option
            names[file] = file
        elif bare and seen[bare] == 1:
            names[file] = bare
    return {one.file: names.get(one.file, one.file) for one in sessions}


def table(sessions: Sequence[Listed], names: dict[str, str], width: int | None) -> str:
    """One line a session, with a heading; ``width`` of the terminal, None where there is none."""
    good = [one for one in sessions if not one.facts.problem]
    columns = {
        heading: [heading, *(_short(cell(one), _MOST.get(heading)) for one in good)] for heading, cell in _CELLS.items()
    }
    columns["session"] = ["session", *(one_line(names[one.file]) for one in good)]
    wide = {heading: max(map(len, column)) for heading, column in columns.items()}
    if width is not None:
        for heading in _left_out(wide, width):
            del columns[heading], wide[heading]
    rows = zip(*columns.values(), strict=True)
    text = [(" " * _APART).join(map(str.ljust, row, wide.values())).rstrip() for row in rows] if good else []
    return "\n".join(text + [_broken(one, names[one.file]) for one in sessions if one.facts.problem])


def _left_out(wide: dict[str, int], width: int) -> list[str]:
    """Headings of the columns for which a terminal has no room."""
    left = width - wide["session"] - sum(wide[heading] + _APART for heading in _ALWAYS)
    missing = []
    for heading in _IF_THERE_IS_ROOM:
        if wide[heading] + _APART <= left:
            left -= wide[heading] + _APART
        else:
            missing.append(heading)
    return missing


def _broken(one: Listed, name: str) -> str:
    return f"broken: {one_line(name)}: {one_line(one.facts.problem)}"


def _when(one: Listed) -> str:
    return str(datetime.fromisoformat(one.facts.started_at).astimezone())[: len("2026-11-25 13:10")]


def _length(one: Listed) -> str:
    return "no end" if one.facts.length_s is None else duration(one.facts.length_s)


def _short(text: str, most: int | None) -> str:
    return text if most is None or len(text) <= most else text[: most - 1].rstrip() + "…"


def _held_back(one: Listed) -> str:
    if one.worked_out is None:
        return "?"
    return ", ".join(_SAID.get(cause, cause) for cause in one.worked_out.held_back_by) or NOTHING


def _sustains(one: Listed) -> str:
    if one.worked_out is None:
        return "?"
    capacity = one.worked_out.capacity_w
    return NOT_READ if capacity.value is None else figure_text(capacity, "W")


_CELLS: dict[str, Callable[[Listed], str]] = {
    "when": _when,
    "length": _length,
    "throttled by": _held_back,
    "sustains": _sustains,
    "machine": lambda one: one.facts.machine or NOT_READ,
    "tags": lambda one: " ".join(f"{key}={value}" for key, value in one.facts.tags.items()) or NOT_READ,
    "phases": lambda one: ", ".join(one.facts.phases),
}


def why_none_fits(wanted: Wanted, sessions: Sequence[Listed]) -> str:
    """Which tags there are, where a tag was asked for that no session has: a word on what was mistyped; else empty."""
    for key, value in wanted.tags:
        values = sorted({one.facts.tags[key] for one in sessions if key in one.facts.tags})
        if not values:
            keys = sorted({key for one in sessions for key in one.facts.tags})
            return f"Tags there: {_some(keys)}." if keys else "No session there has a tag."
        if value is not None and value not in values:
            return f"Values of {one_line(key)} there: {_some(values)}."
    return ""


def _some(words: Sequence[str]) -> str:
    return ", ".join(map(one_line, words[:_MOST_NAMED])) + (" …" if len(words) > _MOST_NAMED else "")


def document(sessions: Sequence[Listed], names: dict[str, str]) -> str:
    """The same for programs; a session has a line of its own here too."""
    text = json_text({"sessions": [_fields(one, names[one.file]) for one in sessions]})
    return text.replace('{"session": ', '\n{"session": ') + "\n"  # within a text, quotes have a backslash


def _fields(one: Listed, name: str) -> dict[str, Any]:
    facts, found = one.facts, one.worked_out
    if facts.problem:
        return {"session": name, "file": one.file, "problem": facts.problem}
    return {
        "session": name,  # as it is, for programs that open it: JSON can write any name
        "file": one.file,
        "started_at": facts.started_at,
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
