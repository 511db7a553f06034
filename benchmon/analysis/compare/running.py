"""While a run lasts: warmer or cooler than an earlier one at the same moment of the same phase.

Two runs seldom begin a phase alike: one had idled for longer, the other came from a load. What was warm then is warm
for a while, and a phase's first minutes show that more than the cooler. So both are compared from where their phases
began, as far as the beginning still counts; that takes most of what the room thermometers are wrong by along with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

from benchmon.analysis.compare.differences import RUN_U, SENSOR_U_K
from benchmon.analysis.thermal.resistance import figure
from benchmon.analysis.thermal.steady import COUNTER_U
from benchmon.model.findings import Figure
from benchmon.model.running import NotSaid, RunningDifference, Silence

WINDOW_S = 30.0
"""Readings of so long are put together [s]."""
BEFORE_S = 15.0
"""The same for what was just before the phase [s]."""
LEAST_S, HEAT_S = 60.0, 180.0
"""So far into a phase a difference is told; and where heat throttles only one of the two [s]."""
LEAST_RISE_K = 12.0
"""Nearer to the room nothing is told: two thermometers and the past are worth a sixth of that."""
SAME_POWER, MOST_APART = 1.03, 1.25
"""Powers within this factor are the same; beyond the other they are not compared."""
HEAT_ONE_U = 0.05
"""Where heat throttles only one of them, what the other stores has not come as far: doubt of the watts, as a share."""
_NOISE_K = 0.2
PAST_S = (100.0, 200.0, 400.0, 800.0, 1600.0)
"""What was warm before is forgotten with one of these time constants, each as likely: heatsinks and cases [s]."""
PAST_UNKNOWN_K = 3.0
"""What two runs may differ by at the beginning of a phase where nothing was read before it (judged) [K]."""
EXPONENT, EXPONENT_U = 0.9, 0.1
"""A rise grows with this power of the watts: 1 where the cooler is linear, 0.75 by natural convection alone."""
ROOM_APART_U = 0.003
"""Doubt of a rise for each kelvin between the rooms, as a share: a fan that follows the temperature blows more."""


@dataclass(frozen=True, slots=True)
class Begin:
    """What was just before the phase."""

    rise_k: float
    power_w: float


@dataclass(frozen=True, slots=True)
class Moment:
    """Means over the last while of a phase, in one run."""

    temp_c: float
    power_w: float
    room_c: float
    room_u_k: float
    """Standard uncertainty of the room [K]."""
    step_k: float
    """Of the temperature sensor."""
    is_held: bool
    """Heat throttles it: the temperature is defended, and the watts show the cooling."""
    begin: Begin | None = None
    """None = nothing was read before the phase."""

    @property
    def rise_k(self) -> float:
        """Above the room [K]."""
        return self.temp_c - self.room_c


def running_difference(
    now: Moment, then: Moment, phase_s: float, *, same_machine: bool = True
) -> RunningDifference | NotSaid:
    """What differs, or why that is not said.

    These two runs are spoken of, and no configuration: how a cooler sits is not among the doubts.

    Args:
        now: this run.
        then: the earlier one, as far into the same phase.
        phase_s: how far [s].
        same_machine: one sensor and one counter read both, so that what they are wrong by cancels.
    """
    if phase_s < LEAST_S:
        return NotSaid(Silence.EARLY, LEAST_S)
    if min(now.rise_k, then.rise_k) < LEAST_RISE_K or min(now.power_w, then.power_w) <= 0.0:
        return NotSaid(Silence.COOL)
    if any(one.begin is not None and one.begin.rise_k > one.rise_k for one in (now, then)):
        return NotSaid(Silence.COOLING)
    ratio = now.power_w / then.power_w
    if max(ratio, 1.0 / ratio) > MOST_APART and not (now.is_held or then.is_held):
        return NotSaid(Silence.POWERS_APART)
    if now.is_held != then.is_held and phase_s < HEAT_S:
        return NotSaid(Silence.HEAT, HEAT_S)
    found = _held_against(now, then, phase_s, same_machine=same_machine)
    is_same_power = max(ratio, 1.0 / ratio) <= SAME_POWER
    return RunningDifference(found, now.is_held or then.is_held, is_same_power, not same_machine)


def _held_against(now: Moment, then: Moment, phase_s: float, *, same_machine: bool) -> Figure:
    """Kelvin warmer than then with the watts and the past of now; where heat throttles, watts more at one rise."""
    is_held = now.is_held or then.is_held
    left, left_u = _left_of_past(phase_s)
    if now.begin is None or then.begin is None:
        left, past_u = 0.0, PAST_UNKNOWN_K * left
    else:
        past_u = left_u * (now.begin.rise_k - then.begin.rise_k)
    (rise_k, power_w), (rise_then_k, power_then_w) = _since(now, left), _since(then, left)
    # What the earlier run would show of what came since the beginning: kelvin with the watts of now, or the other way
    # round where heat throttles.
    moved = (rise_k / rise_then_k) ** (1.0 / EXPONENT) if is_held else power_w / power_then_w
    u_k = _doubt_k(now, then, left, log(moved), same_machine=same_machine)
    u_k = sqrt(u_k**2 + past_u**2)
    if is_held:
        expected, value = moved * power_then_w, power_w
        u = expected / EXPONENT * u_k / rise_then_k
        u = u if now.is_held == then.is_held else sqrt(u**2 + (HEAT_ONE_U * now.power_w) ** 2)
        past = now.power_w - power_w
    else:
        expected, value, u, past = moved**EXPONENT * rise_then_k, rise_k, u_k, then.rise_k - rise_then_k
    # What was left of the beginning was colder by as much if the cooler is the reason, and by nothing if the past is.
    besides = (value / expected - 1.0) * past / 2.0
    return figure(value - expected + besides, sqrt(u**2 + besides**2 / 3.0))


def _since(one: Moment, left: float) -> tuple[float, float]:
    """Rise and power without what is left of the beginning [K, W]."""
    begin = Begin(0.0, 0.0) if one.begin is None else one.begin
    return max(one.rise_k - left * begin.rise_k, 0.1), max(one.power_w - left * begin.power_w, 0.1)


def _doubt_k(now: Moment, then: Moment, left: float, apart: float, *, same_machine: bool) -> float:
    """Standard uncertainty of the difference of two rises, without that of the past [K].

    Args:
        now: one run.
        then: the other.
        left: what the beginning still counts.
        apart: by how many e-folds the powers differ.
        same_machine: one sensor and one counter read both.
    """
    read_u = (now.step_k**2 + then.step_k**2) / 6.0 + 2.0 * _NOISE_K**2
    rooms_u = (1.0 - left) ** 2 * (now.room_u_k**2 + then.room_u_k**2)
    kelvin_u = read_u * (1.0 + left**2) + rooms_u
    share_u = 2.0 * RUN_U**2 + (EXPONENT_U * apart) ** 2 + (ROOM_APART_U * (now.room_c - then.room_c)) ** 2
    if not same_machine:
        share_u += 2.0 * COUNTER_U**2
        kelvin_u += 2.0 * ((1.0 - left) * SENSOR_U_K) ** 2
    return sqrt(kelvin_u + share_u * then.rise_k**2)


def _left_of_past(phase_s: float) -> tuple[float, float]:
    """How much of a difference at the beginning is still there: mean and scatter over the time constants."""
    shares = [exp(-phase_s / constant_s) for constant_s in PAST_S]
    mean = sum(shares) / len(shares)
    return mean, sqrt(sum((share - mean) ** 2 for share in shares) / len(shares))
