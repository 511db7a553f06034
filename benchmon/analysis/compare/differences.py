"""Quantity by quantity, two phases that belong together: what differs, and how far that can be believed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from benchmon.analysis.compare.bench_run import BenchRun, RunPhase
from benchmon.analysis.compare.samples import Sample, of_two, with_common
from benchmon.analysis.scores import POWER_DOUBT
from benchmon.analysis.thermal.steady import COUNTER_U, ROOM_U_K
from benchmon.model import keys
from benchmon.model.comparison import PhaseDifference
from benchmon.model.events import Cause
from benchmon.model.findings import Figure, Score

RUN_U = 0.0075
"""Scatter of clock, power, work and scores from run to run, as a share: two runs differ by 1 to 2 % (Intel thermal
guide of the Xeon 5400, 318611, p. 27)."""
DIGIT_W = 0.3
"""Standard uncertainty of a wall reading entered by hand [W]."""
SENSOR_U_K = 1.5
"""Calibration of a processor's temperature sensor: what two processors differ by at the same heat (judged) [K]."""
ALIKE = 0.93
"""Of what a fit leaves open (its square), this share is the same in another run of one machine by one plan: it is the
same sink, seen for as long. Chosen among 0.8, 0.87 and 0.93 on 180 pairs of boxes (seeds from 30001)."""
ROOM_SHARED = 0.5
"""Share of the room reading's variance that is the thermometer's own and its place's, the same in all runs of a side.
Judged: one calibration, and a reading each time."""
SAME_LENGTH = 1.02
RISE, RESISTANCE, ENERGY, HELD, SCORE = "rise_k", "resistance_k_per_w", "energy_j", "held_s", "score"
CLOCK_UNTIL, POWER_UNTIL, TEMP_UNTIL = "until_clock_mhz", "until_package_power_w", "until_processor_temp_c"
"""What a throttled phase ran at until it was throttled: the sheet's line ``before``."""
WORK_WHOLE = "whole_work_rate_per_s"
"""Work rate over the whole of a throttled phase, the fast beginning in it."""


@dataclass(frozen=True, slots=True)
class Shared:
    """What two sides have in common."""

    machine: bool
    other_work: str = ""
    """Why what they did may not be counted against one another; empty = it is the same work."""
    itself: bool = False
    """It is the same recording twice: they share everything."""


@dataclass(frozen=True, slots=True)
class _Value:
    value: float
    own_u: float
    """What is read anew in each run."""
    common_u: float = 0.0
    """What is the same in all runs of a side, and may be another in the other side."""
    scale_u: float = 0.0
    """Scale of a meter, as a share: of two sides with one meter it touches the difference alone."""
    machine_u: float = 0.0
    """What differs from machine to machine."""


def score_key(score: Score) -> str:
    """``score pts (multi core)``: scores of one name are of one kind."""
    return f"{SCORE} {score.name}".rstrip().casefold()


def score_of(phase: RunPhase, key: str) -> float | None:
    """The last score of a kind in a phase; None if there is none."""
    return next((one.value for one in reversed(phase.row.scores) if score_key(one) == key), None)


def differences(
    before: Sequence[tuple[BenchRun, RunPhase]],
    after: Sequence[tuple[BenchRun, RunPhase]],
    shared: Shared,
    spread: float,
) -> tuple[PhaseDifference, ...]:
    """All quantities that were read on either side."""
    rows = []
    phases = [phase for _, phase in (*before, *after)]
    skipped = () if any(phase.row.sustained for phase in phases) else (WORK_WHOLE,)
    scores = [(score_key(score), score.name) for score in before[0][1].row.scores]
    for key, unit in (*_QUANTITIES, *scores):
        a, b = ([_value(key, run, phase, spread) for run, phase in side] for side in (before, after))
        if key not in skipped and any(isinstance(one, _Value) for one in (*a, *b)):
            never = key == HELD and not any(one.value for one in (*a, *b) if one is not None)
            refusal = "" if never else _refusal(key, before, after, shared)
            rows.append(_row(key, unit, (a, b), shared, refusal))
    return tuple(rows)


_QUANTITIES = (
    (keys.CLOCK, "MHz"),
    (keys.PACKAGE_POWER, "W"),
    (keys.WALL_POWER, "W"),
    (keys.PROCESSOR_TEMP, "°C"),
    (RISE, "K"),
    (RESISTANCE, "K/W"),
    (CLOCK_UNTIL, "MHz"),
    (POWER_UNTIL, "W"),
    (TEMP_UNTIL, "°C"),
    (keys.WORK_RATE, "1/s"),
    (WORK_WHOLE, "1/s"),
    (ENERGY, "J"),
    (HELD, "s"),
)


_UNTIL = {CLOCK_UNTIL: "clock_mhz", POWER_UNTIL: "power_w", TEMP_UNTIL: "temp_last_c"}


def _row(
    key: str, unit: str, sides: tuple[list[_Value | None], list[_Value | None]], shared: Shared, refusal: str
) -> PhaseDifference:
    a, b = ([one for one in side if one is not None] for side in sides)
    means = [sum(one.value for one in side) / len(side) if side else None for side in (a, b)]
    found = Figure(why_not=refusal or "not read in all runs")
    if not refusal and len(a) == len(sides[0]) and len(b) == len(sides[1]):
        found = _difference(a, b, shared)
        if key == HELD and found.value is not None:
            return PhaseDifference(key, unit, means[0], means[1], Figure(found.value), is_counted=True)
    return PhaseDifference(key, unit, means[0], means[1], found)


def _difference(a: Sequence[_Value], b: Sequence[_Value], shared: Shared) -> Figure:
    samples = [Sample.of([one.value for one in side]) for side in (a, b)]
    if shared.itself:
        return Figure(samples[1].mean - samples[0].mean, 0.0, 0.0)
    own = [sqrt(sum(one.own_u**2 for one in side) / len(side)) for side in (a, b)]
    found = of_two(samples[0], samples[1], (own[0], own[1]))
    scale = max(one.scale_u for one in (*a, *b))
    common = [sum(one.common_u for one in side) / len(side) for side in (a, b)]
    if shared.machine:
        scaled, other = scale * abs(found.value), 0.0
    else:
        scaled = scale * sqrt(samples[0].mean ** 2 + samples[1].mean ** 2)
        other = a[0].machine_u + b[0].machine_u
    open_share = 1.0 - ALIKE if shared.machine and not shared.other_work else 1.0
    squares = open_share * (common[0] ** 2 + common[1] ** 2) + scaled**2 + other**2 / 2.0
    return with_common(found, sqrt(squares)).figure()


def _refusal(
    key: str, before: Sequence[tuple[BenchRun, RunPhase]], after: Sequence[tuple[BenchRun, RunPhase]], shared: Shared
) -> str:
    if (key in {keys.WORK_RATE, WORK_WHOLE} or key.startswith(SCORE)) and shared.other_work:
        return shared.other_work
    phases = [phase for _, phase in (*before, *after)]
    if key in _UNTIL and any(phase.row.before is None for phase in phases):
        return "not throttled in all"
    if key == RESISTANCE and any(phase.held_s.get(Cause.THERMAL) for phase in phases):
        return "throttled by heat"
    if key == RESISTANCE and not all(_is_settled(phase) for phase in phases):
        return "not settled in all"
    lengths = [run.length_s(phase) for run, phase in (*before, *after)]
    if key in {ENERGY, HELD} and max(lengths) > SAME_LENGTH * min(lengths):
        return "the phases are not of one length"
    return ""


def _is_settled(phase: RunPhase) -> bool:
    """Only of a settled phase is a resistance told, here as on the sheet."""
    settling = phase.row.settling.get(keys.PROCESSOR_TEMP)
    return settling is not None and settling.settled is True


def _value(key: str, run: BenchRun, phase: RunPhase, spread: float) -> _Value | None:
    """A quantity of one phase with its doubts; None if it was not read."""
    row = phase.row
    if key == HELD:
        return _Value(phase.throttled_s, 0.0) if keys.CLOCK in row.means else None
    if key.startswith(SCORE):
        score = score_of(phase, key)
        return None if score is None else _Value(score, RUN_U * abs(score))
    if key == ENERGY:
        joules = row.energy_j.value
        return None if joules is None else _Value(joules, RUN_U * joules, scale_u=POWER_DOUBT / 2.0)
    if key in {keys.PROCESSOR_TEMP, RISE, RESISTANCE}:
        return _heat(key, run, phase, spread)
    value = _plain(key, phase)
    if value is None:
        return None
    if key == TEMP_UNTIL:
        return _Value(value, _temp_u(run), machine_u=SENSOR_U_K)
    own = RUN_U * abs(value)
    if key == keys.WALL_POWER:
        is_entered = all(channel.key != key for channel in run.summary.header.channels)
        return _Value(value, sqrt(own**2 + DIGIT_W**2) if is_entered else own, scale_u=POWER_DOUBT / 2.0)
    return _Value(value, own, scale_u=COUNTER_U if key in {keys.PACKAGE_POWER, POWER_UNTIL} else 0.0)


def _plain(key: str, phase: RunPhase) -> float | None:
    """A quantity that needs nothing but its phase."""
    until = phase.row.before
    if key in _UNTIL:
        value: float | None = None if until is None else getattr(until, _UNTIL[key])
        return value
    if key == WORK_WHOLE:
        whole = phase.row.means.get(keys.WORK_RATE)
        return None if whole is None else whole.mean
    return phase.reading(key)


def _temp_u(run: BenchRun) -> float:
    """Step and noise of a temperature that is read once [K]."""
    step_k = next((c.resolution for c in run.summary.header.channels if c.key == keys.PROCESSOR_TEMP), None) or 0.0
    return sqrt(step_k**2 / 6.0 + 0.2**2)


def _heat(key: str, run: BenchRun, phase: RunPhase, spread: float) -> _Value | None:
    last_c, room_c = phase.reading(keys.PROCESSOR_TEMP), phase.row.room_c
    if last_c is None:
        return None
    rise = 0.0 if room_c is None else max(last_c - room_c, 0.0)
    seated = 0.0 if phase.held_s.get(Cause.THERMAL) else spread * rise  # what is held does not show how the cooler sits
    own = sqrt(_temp_u(run) ** 2 + seated**2)
    if key == keys.PROCESSOR_TEMP:
        return _Value(last_c, own, machine_u=SENSOR_U_K)
    if room_c is None:
        return None
    if key == RISE:
        return _Value(last_c - room_c, sqrt(own**2 + ROOM_U_K**2), machine_u=SENSOR_U_K)
    found = phase.row.resistance_k_per_w
    if not _is_settled(phase) or found.value is None or found.low is None or found.high is None or rise <= 0:
        return None
    anew = sqrt((ROOM_U_K / rise) ** 2 + spread**2)
    whole = (found.high - found.low) / 3.92 / found.value
    left_open = sqrt(max(whole**2 - COUNTER_U**2 - (ROOM_U_K / rise) ** 2, 0.0))
    return _Value(found.value, anew * found.value, left_open * found.value, COUNTER_U, SENSOR_U_K / rise * found.value)
