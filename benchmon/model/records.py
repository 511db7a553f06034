"""Everything a session holds: only what was observed, never what was concluded from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum

from benchmon.model.channel import Channel
from benchmon.model.plan import Plan, StepAction, StepEnd
from benchmon.model.units import Unit
from benchmon.plain_text import make_plain


class MarkKind(Enum):
    """What a person said while recording. The value is its code in session files."""

    PHASE = "phase"
    """A phase begins; ``text`` is its name."""
    WALL = "wall"
    """Power read at the wall; ``value`` [W]."""
    ROOM = "room"
    """Room temperature; ``value`` [°C]."""
    SCORE = "score"
    """A benchmark's result; ``value``, and its name or unit in ``text``."""
    NOTE = "note"
    """Free words in ``text``."""
    TAG = "tag"
    """``text`` is ``key=value``: what is special about this run."""
    WITHDRAW = "withdraw"
    """The mark with number ``replaces`` no longer holds."""


class LoadAction(Enum):
    """What happened to the load. The value is its code in session files."""

    STARTED = "started"
    STOPPED = "stopped"
    """By a key, by the plan or by the guard; ``reason`` says which."""
    EXITED = "exited"
    """By itself; ``exit_status`` is the command's."""
    FAILED = "failed"
    """It could not be started; ``reason`` says why."""


@dataclass(frozen=True, slots=True)
class SessionHeader:
    """First record of every session."""

    session_id: str
    """Random, unique; also names the recorder's control socket."""
    started_at: datetime
    """Wall-clock time of ``t_s == 0``; aware, UTC."""
    period_s: float
    """Intended time between samples [s]."""
    channels: tuple[Channel, ...]
    """Columns of every sample, in order."""
    tags: Mapping[str, str] = field(default_factory=dict)
    """What is special about this run, ``duct=fitted``."""
    time_scale: float = 1.0
    """Session seconds per real second; other than 1 only on the virtual bench."""
    made_by: str = ""
    """Program and version that wrote the file."""
    virtual: str = ""
    """Name of the virtual machine; empty for a real one."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class Sample:
    """One reading of all channels."""

    t_s: float
    """Time since the session's start [s], monotonic."""
    values: tuple[float | None, ...]
    """Aligned to ``SessionHeader.channels``; None = not read."""
    read_cost_s: float = 0.0
    """Time it took to read them [s]."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Something a person entered."""

    number: int
    """1, 2, 3 … within the session."""
    t_s: float
    """The time it speaks of [s]; may lie before ``entered_s``."""
    entered_s: float
    """When it was entered [s]."""
    kind: MarkKind
    text: str = ""
    value: float | None = None
    replaces: int | None = None
    """Number of an earlier mark that this one corrects or withdraws. The file keeps both."""
    source: str = ""
    """What it was read from, ``the command's output``; empty: a person or the plan said it."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class Setting:
    """What the machine says about itself; at the start, and again whenever it changes."""

    t_s: float
    key: str
    value: float | str | None
    """None: it can no longer be read."""
    unit: Unit | None
    """None for texts."""
    source: str

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class Machine:
    """What the machine is. Never serial numbers, host names or addresses. Empty or None: not known."""

    t_s: float
    processor: str = ""
    board: str = ""
    product: str = ""
    system: str = ""
    """Operating system and its release."""
    cores: int | None = None
    threads: int | None = None
    memory_gib: float | None = None
    virtual: bool = False
    """True if this is the virtual bench and no real machine."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class ChannelState:
    """A channel stopped or resumed being readable."""

    t_s: float
    key: str
    readable: bool
    reason: str = ""
    """Why it is not read: ``permission denied: /sys/…``, ``device gone`` …"""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class Gap:
    """No samples from ``start_s`` (last sample before) to ``end_s`` (first after)."""

    start_s: float
    end_s: float
    reason: str
    """``late`` (the recorder was not let run), ``suspend`` (the machine slept), ``missing`` (imported table)."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class LoadChange:
    """The load started, stopped, ended or failed."""

    t_s: float
    action: LoadAction
    what: str
    """The load in words: ``widest arithmetic on all 6 cores``, or the command line."""
    busy_cores: int | None = None
    """How many cores it is meant to keep busy; None = not known (a user's command)."""
    reason: str = ""
    exit_status: int | None = None
    work: str = ""
    """Kind of built-in work that starts; empty for a command, and where it is not known."""
    duty: float = 1.0
    """Share of their time that the busy cores are meant to work, 0 < duty ≤ 1."""
    unit_operations: float | None = None
    """Arithmetic operations in one unit of the work that ``work_rate_per_s`` counts; None = not known, or none."""
    unit_bytes: float | None = None
    """Bytes that one unit moves to and from memory; None = not known, or none."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """The plan that this recording carries out, as it was when it began."""

    t_s: float
    plan: Plan
    first: int = 1
    """Number of the phase that it begins with: more than 1 where an earlier recording was interrupted ..."""
    resumes: str = ""
    """... and the ``session_id`` of that one."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class StepChange:
    """A phase of the plan began or ended."""

    t_s: float
    number: int
    """Number of the phase in the plan, from 1."""
    action: StepAction
    because: StepEnd | None = None
    """Why it ended; None where it began."""


@dataclass(frozen=True, slots=True)
class SessionEnd:
    """The recorder closed the session in good order. A file without it was cut."""

    t_s: float
    reason: str

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


Record = (
    SessionHeader
    | Sample
    | Mark
    | Setting
    | Machine
    | ChannelState
    | Gap
    | LoadChange
    | PlannedRun
    | StepChange
    | SessionEnd
)
"""The closed union of what a session file holds; match it with ``assert_never``."""


@dataclass(frozen=True, slots=True)
class Damage:
    """What is wrong with a session file that could still be read."""

    line: int
    """First bad line, counted from 1."""
    problem: str
    """In words: ``the last line is cut``."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class Session:
    """A whole session as read from its file."""

    header: SessionHeader
    records: tuple[Record, ...]
    """All records after the header, in file order; marks that were entered after the end stand before it."""
    damage: tuple[Damage, ...] = ()

    @property
    def end(self) -> SessionEnd | None:
        """The end record; None if the recording was cut or still runs."""
        last = self.records[-1] if self.records else None
        return last if isinstance(last, SessionEnd) else None

    @property
    def others(self) -> tuple[Record, ...]:
        """All records but the samples."""
        return tuple(record for record in self.records if not isinstance(record, Sample))

    @property
    def is_complete(self) -> bool:
        """True if the session was closed in good order and nothing in it is damaged."""
        return self.end is not None and not self.damage
