"""Phases: the stretches of a session that have a name of their own.

A person's mark begins a phase. A load that starts or ends where nobody marked begins one too: a phase that mixed idling
and load would tell nothing. A mark within ``CLAIM_S`` of a load change speaks for it,
but for one that was read from what a command printed: its moment is known. Where neither mark nor load is
recorded, steps of the load that was read begin phases, and steps of the power where the load says nothing. What comes
before anything is known is called ``start``.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from benchmon.model import keys, phase_names
from benchmon.model.records import LoadAction, LoadChange, Machine, Mark, MarkKind, Record, SessionEnd, Setting
from benchmon.model.valid_marks import ValidMarks

CLAIM_S = 10.0
"""A phase mark this close to a load change speaks for it [s]."""
SAME_MOMENT_S = 1.0
"""One load ends and the next begins within such a time [s]."""


@dataclass(frozen=True, slots=True)
class Phase:
    """One stretch ``start_s`` ≤ t < ``end_s``."""

    name: str
    start_s: float
    end_s: float | None
    """None while it lasts."""
    is_marked: bool
    """Somebody named it; otherwise it was made of a load change, or is the start."""


@dataclass(frozen=True, slots=True)
class LoadStep:
    """From here on the load was another one."""

    at_s: float
    busy_cores: int | None
    """Cores meant to be busy; 0 = no load; None = not known (a person's own command)."""
    name: str = ""
    """What the phase is called; empty: by the number of cores."""
    is_seen: bool = False
    """Nobody said so; it was seen in the readings."""
    is_by_power: bool = False
    """It was seen in the power alone: nothing is known about cores."""
    started: LoadChange | None = None
    """The record of its start."""


class PhaseTracker:
    """Follows marks, load changes and the end; knows the phases so far."""

    def __init__(self) -> None:
        """Start with one phase called ``start``."""
        self.version = 0
        """Goes up whenever phases may have changed."""
        self.marks = ValidMarks()
        self.loads: list[LoadStep] = []
        self.loads_are_recorded = False
        """Whether the session itself says when a load ran."""
        self._all_cores: set[int] = set()
        self._end_s: float | None = None
        self._known: tuple[Phase, ...] | None = None

    def feed(self, record: Record) -> None:
        """Take the next record; samples say nothing here."""
        if isinstance(record, Mark):
            self.marks.feed(record)
        elif isinstance(record, LoadChange):
            self._take_load(record)
        elif isinstance(record, SessionEnd):
            self._end_s = record.t_s
        elif isinstance(record, Machine):
            self._all_cores |= {count for count in (record.cores, record.threads) if count}
        elif isinstance(record, Setting) and record.key == keys.CORE_COUNT and isinstance(record.value, int | float):
            self._all_cores.add(int(record.value))
        else:
            return
        self._change()

    def add_load(self, step: LoadStep) -> None:
        """The load was seen to change, though no record says so."""
        self.loads.append(step)
        self._change()

    @property
    def phases(self) -> tuple[Phase, ...]:
        """All phases in order of time; the last has no end until the session ends."""
        if self._known is None:
            marks = self.marks.of(MarkKind.PHASE)
            spoken = bool(marks) or self.loads_are_recorded
            steps = [
                (step.at_s, step.name or self._load_name(step.busy_cores))
                for step in self.loads
                if not (step.is_seen and spoken)
            ]
            self._known = _phases(marks, steps, self._end_s)
        return self._known

    def load_at(self, t_s: float) -> LoadStep | None:
        """The load in force at a time [s]; None if nothing was said about it until then."""
        return next((step for step in reversed(self.loads) if step.at_s <= t_s), None)

    @property
    def logical_processors(self) -> int | None:
        """Over how many the load that is read is shared out; None = not known."""
        return max(self._all_cores, default=None)

    def is_all_cores(self, busy_cores: int) -> bool:
        """Whether so many busy cores are all there are, as far as that is known."""
        return busy_cores in self._all_cores

    def _change(self) -> None:
        self._known = None
        self.version += 1

    def _take_load(self, change: LoadChange) -> None:
        if change.action is LoadAction.FAILED:
            return
        said = [step for step in self.loads if not step.is_seen]
        is_loaded = bool(said) and said[-1].busy_cores != 0
        if change.action is LoadAction.STARTED:
            self.loads.append(LoadStep(change.t_s, change.busy_cores, started=change))
        elif is_loaded:
            self.loads.append(LoadStep(change.t_s, 0, phase_names.COOL_DOWN))
        self.loads_are_recorded = True

    def _load_name(self, busy_cores: int | None) -> str:
        return phase_names.by_cores(busy_cores, is_all=busy_cores in self._all_cores)


def _phases(marks: tuple[Mark, ...], changes: Iterable[tuple[float, str]], end_s: float | None) -> tuple[Phase, ...]:
    begins = [(mark.t_s, mark.text, True) for mark in marks]
    changes = tuple(changes)
    times_s = sorted(at_s for at_s, _ in changes)
    spoken_for = {at_s for mark in marks if not mark.source for at_s in _claimed(mark.t_s, times_s)}
    begins += [(at_s, name, False) for at_s, name in changes if at_s not in spoken_for]
    begins.sort(key=lambda begin: (begin[0], begin[2]))
    if not begins or begins[0][0] > 0.0:
        begins.insert(0, (0.0, phase_names.START, False))
    begins = [begin for begin, after in zip(begins, [*begins[1:], None], strict=True) if not _is_nothing(begin, after)]
    named = _numbered(begins)
    ends = [begin[0] for begin in named[1:]] + [end_s]
    return tuple(
        Phase(name, start_s, end, is_marked) for (start_s, name, is_marked), end in zip(named, ends, strict=True)
    )


def _claimed(mark_s: float, changes_s: Sequence[float]) -> list[float]:
    """The load changes that a mark speaks for: the nearest, and what happened in the same moment."""
    reach_s = CLAIM_S + SAME_MOMENT_S
    near = changes_s[bisect_left(changes_s, mark_s - reach_s) : bisect_right(changes_s, mark_s + reach_s)]
    nearest_s = min((abs(at_s - mark_s) for at_s in near), default=CLAIM_S + 1.0)
    if nearest_s > CLAIM_S:
        return []
    return [at_s for at_s in near if abs(at_s - mark_s) <= nearest_s + SAME_MOMENT_S]


def _is_nothing(begin: tuple[float, str, bool], after: tuple[float, str, bool] | None) -> bool:
    """A phase of no length: two marks at one time, the later holds; an unmarked moment before the first mark."""
    return after is not None and after[0] - begin[0] <= (0.0 if begin[2] else 1.0)


def _numbered(begins: list[tuple[float, str, bool]]) -> list[tuple[float, str, bool]]:
    """Unmarked phases are told apart by numbers; what a person wrote stays as written."""
    names = phase_names.numbered(name for _, name, _ in begins)
    return [
        (start_s, name if is_marked else numbered, is_marked)
        for (start_s, name, is_marked), numbered in zip(begins, names, strict=True)
    ]
