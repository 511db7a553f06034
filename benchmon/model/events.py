"""Throttle events: what the detector concludes. Never written to a session file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum


class Cause(Enum):
    """Why the processor was limited."""

    __hash__ = object.__hash__  # there is one of each: no need to go by its name each time a table is asked

    THERMAL = "thermal"
    """Firmware or kernel defends a temperature."""
    POWER_LIMIT = "power_limit"
    """A package power limit, a running average above all."""
    OUTSIDE = "outside"
    """A signal or cap from outside the processor, shown by a limit file, or a clamp to the floor at any temperature."""
    UNEXPLAINED = "unexplained"
    """It was limited, and the evidence does not say by what."""


class EvidenceKind(Enum):
    """What may speak for or against a cause; ``analysis/throttle/evidence.py`` gives each its weight and reason."""

    __hash__ = object.__hash__  # there is one of each: no need to go by its name each time a table is asked

    HELD_WHILE_POWER_MOVED = "held_while_power_moved"
    """The temperature stayed though the power moved up and down."""
    HELD_SINCE_POWER_FELL = "held_since_power_fell"
    """The temperature stayed though the power had fallen, and stayed fallen."""
    NOTHING_ELSE_HELD = "nothing_else_held"
    """Neither power nor clock was constant while the temperature stayed."""
    STAYS = "stays"
    """The temperature stayed where the machine's own answer to power says it would have moved."""
    FOLLOWS_POWER = "follows_power"
    """The temperature moved as the machine's own answer to power says."""
    RAN_FREE_HOTTER = "ran_free_hotter"
    """It had run free at a higher temperature."""
    FRESH_PEAK = "fresh_peak"
    """It was rising and as hot as never before when the clock fell."""
    RISING = "rising"
    """How much it had risen in the ten seconds before."""
    AT_TOLD_LIMIT = "at_told_limit"
    """It was at, or a few kelvin below, the limit that the sensors tell."""
    COLD = "cold"
    """It was so cool that nothing need be protected from heat."""
    NO_TEMPERATURE = "no_temperature"
    """No temperature was read."""
    TEETH = "teeth"
    """The clock fell at the same temperature again and again, having been cooler in between."""
    TEETH_TO_FLOOR = "teeth_to_floor"
    """The same, but each time to the lowest clock there is."""
    TEETH_ELSEWHERE = "teeth_elsewhere"
    """The clock fell again at other temperatures."""
    HEAT_HERE_BEFORE = "heat_here_before"
    """Heat was shown to limit at this temperature before."""
    SAME_ONSET = "same_onset"
    """Earlier events began at the same temperature."""
    OTHER_ONSETS = "other_onsets"
    """Earlier events began at other temperatures."""
    CLIMBED_ON = "climbed_on"
    """The temperature climbed on and nothing answered."""
    TAKEN_DOWN_WHILE_COOLING = "taken_down_while_cooling"
    """The clock was taken down further while it cooled."""
    HEAT_GAVE_UP = "heat_gave_up"
    """Heat had been defended at a higher clock, and it is cooler now."""
    LIGHTER_WORK = "lighter_work"
    """Power fell while the clock stayed, as with lighter work."""
    LOAD_MAY_HAVE_ENDED = "load_may_have_ended"
    """The temperature fell as at the end of a load, and the load is not known."""
    POWER_ALONE_FELL = "power_alone_fell"
    """Power fell, the clock did not."""
    SINCE_LOAD_BEGAN = "since_load_began"
    """It was limited from the first second of the load."""
    AFTER_USUAL_BUDGET = "after_usual_budget"
    """The load had run about as long as budgets of power last."""
    AT_ONCE = "at_once"
    """The load had run for a few seconds only."""
    LONGER_THAN_BUDGETS = "longer_than_budgets"
    """The load had run longer than any budget of power lasts."""
    AT_POWER_LIMIT = "at_power_limit"
    """Power is at the limit that is told."""
    BELOW_POWER_LIMIT = "below_power_limit"
    """Power is, or was already before, below the limit that is told."""
    BUDGET_USED_UP = "budget_used_up"
    """The running average of power had reached the limit (negative: it had not, or long before)."""
    POWER_HELD = "power_held"
    """Power is steadier than the clock."""
    CLOCK_HELD = "clock_held"
    """The clock is steadier than power."""
    CLOCK_FOLLOWS_LEAKAGE = "clock_follows_leakage"
    """Power stays while the clock follows the leakage of the cooling chip."""
    POWER_FOLLOWS_LEAKAGE = "power_follows_leakage"
    """The clock stays while power follows the leakage of the cooling chip."""
    COOLING_STEP = "cooling_step"
    """The kernel asked for a cooling step."""
    HEAT_COUNTED = "heat_counted"
    """The kernel counted heat events."""
    NO_HEAT_COUNTED = "no_heat_counted"
    """The kernel counted no heat event."""
    CAP_FELL = "cap_fell"
    """The platform or the clock policy lowered its cap."""
    NO_CAP = "no_cap"
    """No cap is down."""
    AT_FLOOR = "at_floor"
    """The clock is clamped to the lowest there is."""
    COLD_AT_FLOOR = "cold_at_floor"
    """The same, though it has become cold."""


class Wanted(Enum):
    """What would settle a doubt about a cause."""

    TEMPERATURE = "temperature"
    PACKAGE_POWER = "package_power"
    TEMP_LIMIT = "temp_limit"
    POWER_LIMIT = "power_limit"
    HEAT_COUNTER = "heat_counter"
    ANOTHER_START = "another_start"
    """The same load once more, begun warmer: heat strikes at the same temperature, a budget after the same energy."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing that was seen, and how far it moved the odds of the cause that is told."""

    kind: EvidenceKind
    weight: float
    """E-folds of odds for the most likely cause; negative = against it."""
    figures: Mapping[str, float] = field(default_factory=dict)
    """What a sentence needs: name with unit → value."""


@dataclass(frozen=True, slots=True)
class Level:
    """What the machine ran at over a stretch of time. A figure is None where nothing was read."""

    start_s: float
    end_s: float
    clock_mhz: float | None = None
    """Mean clock [MHz]."""
    power_w: float | None = None
    """Mean package power [W]."""
    work_per_s: float | None = None
    """Mean work rate [1/s]."""
    wall_w: float | None = None
    """Mean wall power, from a meter or as entered within the stretch [W]."""
    temp_last_c: float | None = None
    """Processor temperature at its end [°C]."""
    temp_highest_c: float | None = None
    """Hottest processor temperature [°C]."""
    is_settled: bool | None = None
    """Whether power (else clock, else work) had stopped moving; None where the stretch is too short to tell."""


@dataclass(frozen=True, slots=True)
class ThrottleEvent:
    """One stretch during which the processor was slower than the load asked for.

    A figure is None where it is not known. A later event with the same ``number`` replaces an earlier one while it is
    open; a closed event never changes.
    """

    number: int
    """1, 2, 3 … in order of announcement."""
    cause: Cause
    """The named cause, of which the evidence makes 8 in 10 or more sure; else unexplained."""
    first_cause: Cause
    """The cause as first announced."""
    start_s: float
    """Onset, back-dated [s]."""
    end_s: float | None
    """End [s]; None while it lasts."""
    announced_s: float
    """When it was first announced [s]."""
    causes: Mapping[Cause, float]
    """Probability of each cause; they add up to 1. Unexplained stands for none of the others."""
    evidence: tuple[Evidence, ...]
    """What speaks for the most likely cause and what against it, strongest first."""
    wanted: tuple[Wanted, ...] = ()
    """What would settle a doubt about the cause; empty if there is none."""
    from_start: bool = False
    """It was limited since its load began: ``clock_before_mhz`` is what the machine had shown or tells it can do."""
    clock_before_mhz: float | None = None
    clock_held_mhz: float | None = None
    """Mean clock while limited, the way down included [MHz]."""
    clock_lowest_mhz: float | None = None
    power_before_w: float | None = None
    power_held_w: float | None = None
    """Mean package power while limited, the way down included [W]."""
    power_lowest_w: float | None = None
    temp_onset_c: float | None = None
    temp_plateau_c: float | None = None
    """Temperature that was defended [°C]."""
    temp_told_c: float | None = None
    """The limit that the sensors told then [°C]: not always the one that is defended."""
    power_limit_w: float | None = None
    """The sustained power limit that was told then [W]."""
    limited_share: float | None = None
    """Share of the event's time during which the clock (or work) was really down, 0 … 1."""
    recoveries: int = 0
    """How many times it recovered and fell again."""
    work_lost: float | None = None
    """Share of the work that would have been done, 0 … 1; from work rate, else from clock."""
    energy_j: float | None = None
    """Package energy during the event [J]."""
    revision: int = 0
    """How many times what was announced has been revised."""
    sustained: Level | None = None
    """The settled part of the event; None until something was read in it."""

    @property
    def is_open(self) -> bool:
        """True while the processor is still limited."""
        return self.end_s is None

    @property
    def clock_sustained_mhz(self) -> float | None:
        """Mean clock of the sustained part; in the first moments of an event the mean so far [MHz]."""
        known = None if self.sustained is None else self.sustained.clock_mhz
        return self.clock_held_mhz if known is None else known

    @property
    def power_sustained_w(self) -> float | None:
        """Mean package power of the sustained part; in the first moments of an event the mean so far [W]."""
        known = None if self.sustained is None else self.sustained.power_w
        return self.power_held_w if known is None else known

    @property
    def likeliest(self) -> Cause:
        """The most probable cause, named or not."""
        return max(self.causes, key=lambda cause: self.causes[cause], default=self.cause)

    @property
    def confidence(self) -> float:
        """Probability of ``cause``, 0 … 1."""
        return self.causes.get(self.cause, 0.0)
