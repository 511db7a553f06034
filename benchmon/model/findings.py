"""What the analysis concludes about a session besides throttle events: phases, settling, the thermal verdict.

All are computed, live and later by the same code; none is stored in a session file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from benchmon.model.events import Level, ThrottleEvent
from benchmon.model.plan_findings import Experiment, PlanFindings
from benchmon.model.records import Machine, Mark, SessionHeader, Setting


@dataclass(frozen=True, slots=True)
class Figure:
    """A computed number with its 95 % interval, or the reason why there is none."""

    value: float | None = None
    low: float | None = None
    high: float | None = None
    why_not: str | None = None
    """A sentence; set exactly when ``value`` is None."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Plain statistics of one channel over a stretch of time."""

    mean: float
    least: float
    greatest: float
    last: float
    count: int


@dataclass(frozen=True, slots=True)
class Settling:
    """Whether a quantity had settled within a phase, by the criterion named."""

    settled: bool | None
    """None: it cannot be said; ``why`` says why."""
    settled_at_s: float | None
    """Session time at which the criterion was first met for good [s]."""
    remaining: float | None
    """Change per criterion window at the end of the phase, in the quantity's unit: how far from settled it ended."""
    criterion: str
    """``at most 3 K in 30 min (IEC 62368-1 B.1.6)``."""
    why: str = ""
    window_s: float | None = None
    """Window of the criterion [s]."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """What a phase was expected to do. Temperatures [°C], times on the session's axis [s]."""

    said_at_s: float
    phase: str
    settles_at_c: Figure
    within_1k_at_s: Figure
    """Session time at which it will be within 1 K of settled."""
    limit_at_s: Figure
    """Session time at which the limit will be reached; ``why_not`` says so if it will not be."""
    limit_c: float | None = None
    ready_s: float | None = None
    """Where it is too early: session time from which on something may be said [s]."""


@dataclass(frozen=True, slots=True)
class BoxPart:
    """One part of the box (``model/box_parts.py``)."""

    text: str
    """What it is, in words."""
    source: str
    """Where that was read, or that it was entered."""


@dataclass(frozen=True, slots=True)
class Score:
    """What a benchmark scored in a phase."""

    value: float
    name: str
    """Its unit, its name, or both: ``pts (multi core)``."""
    per_watt: Figure
    watts_of: str = ""
    """Which watts: at the ``wall`` or of the ``package``; empty where there are none."""


@dataclass(frozen=True, slots=True)
class CommandRun:
    """A person's own command that was the load."""

    words: str
    """The command line, as it is kept."""
    start_s: float
    end_s: float | None
    """None while it runs."""
    exit_status: int | None
    """None if it did not end by itself."""
    reason: str
    """Why it ended, or how often it was run; may be empty."""


@dataclass(frozen=True, slots=True)
class Sustains:
    """What the cooler sustains, as far as it has been seen."""

    power_w: Figure
    """Package power once everything has warmed through [W]."""
    limit_c: float
    """The temperature that is defended, or was given [°C]."""


@dataclass(frozen=True, slots=True)
class WorkDone:
    """The built-in work of a phase. Rates of different kinds are never mixed, and not to be compared."""

    kind: str
    """One of ``WORK_KINDS``; empty if there were several in the phase."""
    duty: float = 1.0
    """Share of their time that the cores were meant to work."""
    operations_g_per_s: float | None = None
    """Arithmetic operations, in billions a second; None where their number is not known, or there are none."""
    floating_g_per_s: float | None = None
    """The same where they are on floating-point numbers."""
    moved_gb_per_s: float | None = None
    """Bytes moved to and from memory, in billions a second."""
    is_mixed: bool = False
    """Whether the kind, its share of the time or its units changed within the phase."""


@dataclass(frozen=True, slots=True)
class PhaseFindings:
    """One row of the bench sheet."""

    name: str
    start_s: float
    end_s: float | None
    """None while it lasts."""
    means: Mapping[str, Spread]
    """Spread of each channel that was read, by key; ``wall_w`` also from entered readings."""
    room_c: float | None = None
    wall_w: float | None = None
    scores: tuple[Score, ...] = ()
    """All that were entered or printed, in order of time."""
    settling: Mapping[str, Settling] = field(default_factory=dict)
    """By canonical key: processor temperature, package power, clock."""
    resistance_k_per_w: Figure = Figure(why_not="not computed")
    energy_j: Figure = Figure(why_not="not computed")
    events: tuple[int, ...] = ()
    """Numbers of the throttle events that touch this phase."""
    contradiction: str = ""
    """``idle at 60 % load``: its load contradicts its name; empty if it does not."""
    work: WorkDone | None = None
    """The built-in work; None if none ran."""
    throttled_after_s: float | None = None
    """How long after its start it was first throttled [s]; 0 = from the start; None = never."""
    before: Level | None = None
    """What it ran at before it was throttled; None if it never was for long, or from the start."""
    sustained: Level | None = None
    """What it ran at in the settled part of its throttled stretch; None if it never was throttled for long."""


@dataclass(frozen=True, slots=True)
class ThermalLine:
    """Rise over package power: rise = intercept + slope · power, over settled phases that belong together."""

    slope_k_per_w: Figure
    intercept_k: Figure
    covariance: float
    """Of slope and intercept [K²/W]."""
    degrees_of_freedom: float
    phases: tuple[str, ...]
    """The phases it was drawn through."""
    left_out: Mapping[str, str] = field(default_factory=dict)
    """Phase name → why it does not belong."""


@dataclass(frozen=True, slots=True)
class Capacity:
    """Watts the cooler holds at the limit temperature."""

    measured_w: Figure
    """Where a temperature was seen to be defended."""
    predicted_w: Figure
    """From how the machine ran free, for a part that never reached the limit."""
    agree: bool | None = None
    """Whether the two agree within their uncertainty; None if one is missing."""
    told_limit_c: float | None = None
    """The limit that the sensors tell, where another temperature is defended [°C]; else None."""
    at_told_limit_w: Figure | None = None
    """Watts at that limit."""
    sustained: Level | None = None
    """What was read in the settled part of the stretch that the measured capacity comes from."""


@dataclass(frozen=True, slots=True)
class PartFit:
    """Whether the cooler can carry a part of so many watts."""

    part_w: float
    room_c: float | None
    """The room it was asked for [°C]; None if no room is known."""
    answer: str
    """``yes``, ``no`` or ``cannot say``."""
    confidence: float | None
    """0.5 … 1, of yes or no, whichever is likelier; None if nothing is known."""
    margin_k: Figure
    """Kelvin to spare below the limit; negative if there are too few."""
    margin_w: Figure
    """Watts to spare."""


class Narrower(Enum):
    """What would narrow a wide capacity."""

    MORE_OF_IT = "more_of_it"
    """The same phase for longer: it was still warming up."""
    OTHER_LOAD = "other_load"
    """A phase with another load."""
    NEARER_LIMIT = "nearer_limit"
    """A phase nearer to the limit."""


@dataclass(frozen=True, slots=True)
class Grounds:
    """What the verdict rests on, and what is odd about it."""

    phase: str = ""
    """The phase that the thermal resistance is from; empty: the defended temperature, or there is none."""
    rise_k: float | None = None
    power_w: float | None = None
    time_constant_s: float | None = None
    """Of that phase, taken as one exponential [s]."""
    changed_s: float | None = None
    """When the cooling changed [s]; the figures hold from then on."""
    narrower: Narrower | None = None
    narrower_s: float | None = None
    """How much longer the phase should last [s]."""
    is_as_run: bool = True
    """Limit and room are those of the run; nobody gave others."""
    is_below_room: bool = False
    """In one phase the sensor read below the room."""
    highest_c: float | None = None
    """Hottest processor temperature of the run [°C]."""


@dataclass(frozen=True, slots=True)
class ThermalFindings:
    """The thermal verdict."""

    room_c: Figure
    room_source: str
    limit_c: Figure
    limit_source: str
    """``the sensors``, ``an observed plateau`` or ``given by you``."""
    resistance_k_per_w: Figure
    line: ThermalLine | None
    line_why_not: str
    capacity: Capacity
    grounds: Grounds = Grounds()
    part: PartFit | None = None
    """Only if a part was asked for."""


@dataclass(frozen=True, slots=True)
class WallFindings:
    """Wall power against package power: wall = own draw + slope · package."""

    own_draw_w: Figure
    slope: Figure
    """Watts at the wall for each watt of package power."""
    efficiency: Figure
    """Implied efficiency of supply and regulators, 0 … 1."""
    efficiency_floor: float | None
    """Published least average efficiency for an external supply of this size, 0 … 1."""
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Quality:
    """How far the recording itself can be trusted."""

    sample_count: int
    duration_s: float
    gap_count: int
    missing_s: float
    """Time within gaps [s]."""
    unread: Mapping[str, str] = field(default_factory=dict)
    """Channel key → why it is or was not read."""
    notes: tuple[str, ...] = ()
    """Sentences: the file is cut, the room drifted …"""


@dataclass(frozen=True, slots=True)
class Summary:
    """Everything concluded about one session; what sheets and screen print."""

    header: SessionHeader
    machine: Machine | None
    settings: Mapping[str, Setting]
    """Latest value of each setting, by key."""
    tags: Mapping[str, str]
    marks: tuple[Mark, ...]
    """Those that hold: withdrawn and corrected ones are left out."""
    phases: tuple[PhaseFindings, ...]
    events: tuple[ThrottleEvent, ...]
    thermal: ThermalFindings
    forecasts: tuple[Forecast, ...]
    wall: WallFindings
    quality: Quality
    detector_version: str
    is_complete: bool
    commands: tuple[CommandRun, ...] = ()
    box: Mapping[str, BoxPart] = field(default_factory=dict)
    """Parts of the box that are known, by name."""
    plan: PlanFindings | None = None
    """How far its plan came; None without a plan."""
    experiment: Experiment | None = None
    """What onsets from several temperatures say together; None if there were none."""
