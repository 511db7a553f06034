"""What a comparison concludes; what views and programs are given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from benchmon.model.findings import Figure

NOT_COMPUTED = Figure(why_not="not computed")


class Answer(Enum):
    """Whether it helped. The value is its code in JSON."""

    BETTER = "better"
    """More watts at the same temperature, or less rise for the same watts."""
    WORSE = "worse"
    """The other way round."""
    SAME = "no difference"
    """None beyond measurement: whatever matters would have shown."""
    CANNOT_SAY = "cannot say"
    """Too close to call, or nothing to go by."""


class Want(Enum):
    """What would decide it. The value is its code in JSON."""

    ROOM = "room"
    """The room temperature, entered or read."""
    POWER = "power"
    """Package power."""
    TEMPERATURE = "temperature"
    """The processor's temperature."""
    LONGER = "longer"
    """A longer phase: until it has settled, or has been throttled for some minutes."""
    ALIKE = "alike"
    """Runs that heat throttled all alike, or not at all."""
    SAME_MACHINE = "same machine"
    """One machine, before and after."""
    SAME_LOAD = "same load"
    """The same phases in all runs."""
    MORE_RUNS = "more runs"
    """``Verdict.more_runs`` of each."""


class Doubt(Enum):
    """Why runs are not like one another. The value is its code in JSON."""

    MACHINE = "other machine"
    """Two machines: sensors and counters are not the same."""
    SIMULATED = "one simulated"
    """Some were recorded on the virtual bench, the others on a machine."""
    MACHINE_UNKNOWN = "machine not recorded"
    """Nothing was recorded of the machine."""
    WORK = "other work"
    """Another kind of work."""
    SENSOR = "other sensor"
    """A channel was read in another way."""
    SAMPLING = "other sampling"
    """Sampled at another rate."""
    SETTING = "other setting"
    """A setting of the machine is another one."""
    HELD = "held back in one"
    """Heat throttled one of them, and not the other."""
    LIMIT = "other defended temperature"
    """Another temperature is defended."""
    ROOM = "other room"
    """Rooms far from one another."""
    LENGTH = "other length"
    """The phases that count are of other lengths."""
    UNSETTLED = "not settled"
    """A phase had not settled."""
    STILL_MOVING = "sustained part not settled"
    """A throttled run was still getting slower, or faster, when it ended."""
    INCOMPLETE = "not complete"
    """A recording is cut or damaged."""
    MANY_TAGS = "several tags"
    """More than one tag differs."""
    NO_TAGS = "no tag differs"
    """No tag differs."""


@dataclass(frozen=True, slots=True)
class Caveat:
    """A reason to read a comparison with care."""

    doubt: Doubt
    """Which reason it is."""
    before: str = ""
    """What it was before, in words."""
    after: str = ""
    """What it was after."""
    what: str = ""
    """What it speaks of: a channel, a setting, a phase, files."""


@dataclass(frozen=True, slots=True)
class PhaseDifference:
    """One quantity of two phases that belong together: means over the runs of each side."""

    key: str
    """Canonical key, or a name of the comparison's own: ``rise_k``, ``held_s``."""
    unit: str
    """Its unit."""
    before: float | None
    """Mean over the runs of the first side; None = not read."""
    after: float | None
    """The same of the other side."""
    difference: Figure
    """``after - before`` with its 95 % interval, or why there is none."""
    is_counted: bool = False
    """It is what happened and no measurement: the difference has no interval."""


@dataclass(frozen=True, slots=True)
class WorkUnit:
    """What one unit of the built-in work is, where all runs recorded the same."""

    kind: str
    """As the load calls it."""
    operations: float | None
    """Operations in it; None = not known, or it only moves bytes."""
    moved_bytes: float | None
    """Bytes that it moves; None = not known, or it moves none."""


@dataclass(frozen=True, slots=True)
class PhaseComparison:
    """Two phases that belong together."""

    before: str
    """Name of the phase before."""
    after: str
    """Name of the phase after."""
    by_name: bool
    """Only their names are the same; what loaded them is not."""
    rows: tuple[PhaseDifference, ...]
    """One for each quantity that was read."""
    runs: tuple[int, int]
    """How many runs of each side have such a phase."""
    sustained: tuple[int, int]
    """In how many of them it was throttled for long: clock to work rate are those of its sustained part."""
    work_unit: WorkUnit | None = None
    """What its work rate counts; None = not recorded, or not the same in all runs."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a change did to one thing."""

    answer: Answer
    """Better, worse, no difference, cannot say."""
    why_not: str = ""
    """Why it cannot be said, where nothing could be computed."""
    before: float | None = None
    """Mean of the runs before, in the unit."""
    after: float | None = None
    """Mean of the runs after."""
    unit: str = ""
    """``K``, ``W``, ``1/s``, ``MHz``; empty for scores."""
    change: Figure = NOT_COMPUTED
    """As a share of what was before, with its 95 % interval; positive is better (a lower rise, too)."""
    difference: Figure = NOT_COMPUTED
    """``after - before`` in the unit."""
    chance: float | None = None
    """How often so much would come about by chance alone; of many comparisons already corrected for that."""
    more_runs: int | None = None
    """So many more runs of each would decide it, if the difference stays; None = not by runs."""
    wants: tuple[Want, ...] = ()
    """What would decide it."""


@dataclass(frozen=True, slots=True)
class At:
    """The conditions under which the cooling is compared."""

    room_c: float
    """Room of all runs: the middle between theirs."""
    power_w: float | None
    """The rise at this power is compared [W]; None = the watts at the limit are."""
    limit_c: float | None
    """Temperature at which the watts are compared [°C]; None = the rise is."""
    runs: tuple[int, int]
    """How many runs each side has."""
    measured: tuple[int, int]
    """In how many of them heat throttled at a limit: their watts were measured, not predicted."""
    phase: str
    """The phase it rests on, as the first run calls it."""

    @property
    def is_alike(self) -> bool:
        """All watts were measured, or all predicted."""
        return self.measured in (self.runs, (0, 0))


@dataclass(frozen=True, slots=True)
class RunSpread:
    """By how much runs of one configuration scatter (standard deviation, as a share)."""

    expected: float
    """What was told or assumed of taking apart and putting together."""
    is_told: bool
    """Somebody told it; else it is assumed."""
    seen: float | None
    """What repeats showed, all doubts of a single run in it; None = no repeats."""
    degrees: int
    """Of freedom behind ``seen``."""


@dataclass(frozen=True, slots=True)
class ComparedRun:
    """One run in a comparison."""

    name: str
    """Of its file."""
    session_id: str
    """Of its header."""
    started_at: datetime
    """When it was recorded."""
    is_virtual: bool
    """It was recorded on the virtual bench."""


@dataclass(frozen=True, slots=True)
class Side:
    """Runs of one configuration."""

    runs: tuple[ComparedRun, ...]
    """One or more."""
    tags: Mapping[str, str]
    """Without those that number the runs."""

    @property
    def are_virtual(self) -> set[bool]:
        """Whether its runs were recorded on the virtual bench; both, where some were."""
        return {run.is_virtual for run in self.runs}


@dataclass(frozen=True, slots=True)
class Contrast:
    """One side compared with what it was before."""

    side: Side
    """What is compared with the first side."""
    changed: Mapping[str, tuple[str | None, str | None]]
    """Tags that differ: before and after; None = no such tag."""
    caveats: tuple[Caveat, ...]
    """Why the runs are not like one another."""
    is_paired: bool
    """Runs were compared pair by pair."""
    cooling: Verdict
    """Whether the cooling became better."""
    at: At | None
    """Under which conditions; None = nothing could be compared."""
    capacity: Verdict
    """The watts at the limit as well, where the cooling was judged by the rise."""
    capacity_at: At | None
    """Under which conditions; None = there are none, or the cooling itself was judged by the watts."""
    speed: Verdict
    """Whether the same work went faster."""
    speed_key: str
    """Which quantity speed is: work rate, score or clock; empty = none."""
    speed_unit: WorkUnit | None
    """What the work rate counts; None = not recorded, or not the same in all runs."""
    is_speed_sustained: bool
    """In a run that was throttled for long it is the speed of the sustained part."""
    phases: tuple[PhaseComparison, ...]
    """Quantity by quantity."""
    only_before: tuple[str, ...]
    """Phases without their like after."""
    only_after: tuple[str, ...]
    """Phases without their like before."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """All of it. The first side is what the others are compared with."""

    before: Side
    """The first side."""
    contrasts: tuple[Contrast, ...]
    """One for each other side, best first."""
    spread: RunSpread
    """What runs of one configuration scatter by."""
    is_many: bool
    """More than one comparison is made: chances and intervals allow for that (Bonferroni)."""
    copies: Mapping[str, str]
    """Files that hold the same recording as another one, and which: it counts once."""
