"""A virtual load under the keeper's own judgement: what goes wrong at a random moment, and how late the load stops.

Before anything goes wrong the machine does what healthy machines do: the load begins with a jump, a command pauses, a
reading glitches or is missed, firmware holds a temperature to the digit. Nothing of that may stop the load. What is due
is worked out here from what ``docs/safety.md`` promises, not from the guard's own figures.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from math import exp
from typing import Any, NamedTuple

from benchmon.loads.vigil import SILENCE_S, Vigil
from benchmon.model import keys
from benchmon.sensors.protocol import Guarded
from benchmon.sensors.setting_value import SettingValue
from benchmon.stream.load_guard import LoadGuard

Reading = Mapping[str, Any]
Lie = Callable[[float, Reading], Reading | None]
"""What is read in place of the truth, so many seconds after the fault; None: the reader says nothing."""
LASTS_S = 90.0
_TICK_S = 0.2
_LOAD_FROM_S = 1.0
_STANDS_S = 60.0
_PAUSE_S = 3.0
_GLITCH_S, _MISS_S = 0.19, 0.38
"""One reading; two."""


class Told(NamedTuple):
    """What machine and user say of limits [°C], and where the load must stop then [°C]."""

    limit_c: float | None
    critical_c: float | None
    stop_at_c: float | None
    stops_c: float


TOLD = (
    Told(None, None, None, 100.0), Told(None, None, 78.0, 78.0), Told(95.0, None, None, 98.0), Told(95.0, 97.0, None, 96.0),
    Told(109.0, None, None, 110.0), Told(149.0, 160.0, None, 100.0), Told(None, 92.0, None, 91.0), Told(95.0, None, 85.0, 85.0),
)  # fmt: skip


class Failure(NamedTuple):
    """How it went."""

    kind: str
    took_s: float | None
    """From the fault, or from passing the limit, until the load was stopped [s]; None: never."""
    due_s: float
    """By when it must be [s]; infinite where nothing is wrong."""
    reason: str

    @property
    def is_wrong(self) -> bool:
        """Late, never, or before anything was wrong."""
        if self.took_s is None:
            return self.due_s < LASTS_S
        return self.took_s > self.due_s or self.took_s < -1.0 or self.due_s == float("inf")


class _Machine:
    """A processor under load, as its sensors tell it."""

    def __init__(self, chance: random.Random) -> None:
        self.told = chance.choice(TOLD)
        self.period_s = chance.choice((0.1, 0.5, 1.0, 2.0, 10.0))
        self.is_command = chance.random() < 0.5
        self.has_beside = chance.random() < 0.5
        self.is_fine = chance.random() < 0.5
        """The sensor has a thousandth of a degree, else a whole one."""
        self.idle_c = chance.uniform(25.0, 45.0)
        self.jump_k = chance.uniform(5.0, 25.0)
        most_c = min(self.told.stops_c, 88.0) - 4.0
        self.warm_c = chance.uniform(min(self.idle_c + self.jump_k + 2.0, most_c), most_c)
        self._tau_s = chance.uniform(5.0, 40.0)
        self._noise_k = chance.uniform(0.3, 1.5)
        moments_s = [at_s + chance.random() for at_s in chance.sample(range(4, int(LASTS_S), 5), 9)]
        self._pauses_s = moments_s[: 3 * self.is_command]
        self._glitches_s, self._misses_s = moments_s[3:6], moments_s[6:]
        self._chance = chance

    def works_at(self, fails_s: float) -> None:
        """A fault that meets a pause, a glitch or a missed reading is another story."""
        for moments_s, lasts_s in (
            (self._pauses_s, _PAUSE_S),
            (self._glitches_s, _GLITCH_S),
            (self._misses_s, _MISS_S),
        ):
            moments_s[:] = [at_s for at_s in moments_s if not at_s - 1.0 < fails_s < at_s + lasts_s + 1.0]

    def temp_c(self, t_s: float) -> float:
        """What it really is [°C], but for noise."""
        if t_s < _LOAD_FROM_S:
            return self.idle_c
        began_c = min(self.idle_c + self.jump_k, self.warm_c)
        warm_c = self.warm_c - (self.warm_c - began_c) * exp(-(t_s - _LOAD_FROM_S) / self._tau_s)
        if any(0.0 <= t_s - pause_s < _PAUSE_S for pause_s in self._pauses_s):
            return max(self.idle_c, warm_c - 42.0)  # what the silicon itself holds is gone at once
        return warm_c

    def read(self, t_s: float, fails_s: float) -> Reading:
        """What its sensors tell [°C]."""
        temp_c = self.temp_c(t_s) + self._chance.uniform(-self._noise_k, self._noise_k)
        if t_s < fails_s:
            if any(0.0 <= t_s - glitch_s < _GLITCH_S for glitch_s in self._glitches_s):
                temp_c = 127.0
            if any(0.0 <= t_s - miss_s < _MISS_S for miss_s in self._misses_s):
                return {"why": "not read: try again,"}
        beside_c = temp_c - self._chance.uniform(0.0, 10.0) if self.has_beside else None
        return {"temp_c": round(temp_c, 3 * self.is_fine), "beside_c": beside_c, "is_busy": t_s > 6.0}


def _mixed(chance: random.Random) -> Lie:
    lies = [{"why": "not read: no number in its file,"}, {"temp_c": 0.0}, {"temp_c": 255.0}, {"temp_c": -64.0}]
    return lambda _after_s, _true: chance.choice(lies)


def _kinds(machine: _Machine, chance: random.Random, fails_s: float) -> dict[str, tuple[Lie, float]]:
    """Kind → what is read then, and seconds until the processor passes where the load must stop."""
    stops_c, warm_c = machine.told.stops_c, machine.warm_c
    rise_k_per_s = chance.uniform(1.0, 30.0)
    passes_s = (stops_c - warm_c) / rise_k_per_s
    fall_c = machine.temp_c(fails_s) - 55.0
    beside_c = max(stops_c, warm_c + 16.0) + chance.uniform(2.0, 10.0)
    gone = {"why": chance.choice(("not read: device gone,", "not read: permission denied,"))}
    hot_c = warm_c + rise_k_per_s * passes_s
    kinds: dict[str, tuple[Lie, float]] = {
        "cooling": (lambda s, true: {**true, "temp_c": warm_c + rise_k_per_s * s}, passes_s),
        "just above": (lambda s, true: {**true, "temp_c": hot_c + 1.0}, 0.0),
        "vanished": (lambda s, true: gone, 0.0),
        "zero": (lambda s, true: {**true, "temp_c": 0.0}, 0.0),
        "cold": (lambda s, true: {**true, "temp_c": -40.0}, 0.0),
        "hot lie": (lambda s, true: {**true, "temp_c": 255.0}, 0.0),
        "mixed": (_mixed(chance), 0.0),
        "blocks": (lambda s, true: None, 0.0),
        "slow": (lambda s, true: None if s % 3.0 < 2.7 else true, 0.0),
        "hotter beside": (lambda s, true: {**true, "beside_c": beside_c}, 0.0),
        "recorder stopped": (lambda s, true: true, 0.0),
        "nothing": (lambda s, true: true, 0.0),
        "held": (lambda s, true: {**true, "temp_c": machine.told.limit_c or 0.0}, 0.0),
        "stands still": (lambda s, true: {**true, "temp_c": machine.idle_c}, 0.0),
        "idle command": (lambda s, true: {**true, "temp_c": machine.idle_c, "is_busy": False}, 0.0),
    }
    if fall_c > 0.5:
        kinds["falls"] = (lambda s, true: {**true, "temp_c": fall_c}, 0.0)
    if machine.idle_c + 41.5 < stops_c - 2.0:
        kinds["rises"] = (lambda s, true: {**true, "temp_c": machine.idle_c + 43.0 + s % 1.0}, 0.0)
    return kinds


def seeded_failure(seed: int) -> Failure:
    """One machine, one fault at a random moment."""
    chance = random.Random(f"failure {seed}")
    machine = _Machine(chance)
    fails_s = chance.uniform(9.0, 40.0)
    machine.works_at(fails_s)
    kinds = _kinds(machine, chance, fails_s)
    kind = chance.choice(list(kinds))
    lie, passes_s = kinds[kind]
    due_s = min(max(2 * machine.period_s, 1.0), 3.0)
    if kind in ("nothing", "held", "idle command"):
        due_s = float("inf")
    if kind == "held" and (machine.told.limit_c is None or machine.told.limit_c >= machine.told.stops_c):
        kind, lie = "nothing", lambda s, true: true
    if kind in ("held", "stands still", "idle command"):
        fails_s = 0.0
        machine.is_command = machine.is_command or kind == "idle command"
    if kind == "stands still":
        passes_s, due_s = _LOAD_FROM_S + _STANDS_S, due_s + 6.0 * machine.is_command
    if kind == "rises":
        machine.is_command, machine.warm_c, machine.jump_k = False, machine.idle_c, 0.0
    if kind == "recorder stopped":
        due_s = 3.0
    for t_s, reason in _judged(machine, chance, fails_s, lie, stops_s=fails_s if kind == "recorder stopped" else 1e9):
        if reason:
            return Failure(kind, t_s - fails_s - passes_s, due_s, reason)
    return Failure(kind, None, due_s, "")


def _judged(
    machine: _Machine, chance: random.Random, fails_s: float, lie: Lie, *, stops_s: float
) -> Iterator[tuple[float, str]]:
    """What the keeper says at each moment; the reader speaks five times a second, the recorder twice, until it stops."""
    told = machine.told
    where = Guarded("sensor", ("beside",) if machine.has_beside else (), 1000.0)
    values = {keys.TEMP_LIMIT: told.limit_c, keys.TEMP_CRITICAL: told.critical_c}
    settings = {key: SettingValue(key, value, None, "") for key, value in values.items() if value is not None}
    guarding = LoadGuard(told.stop_at_c, machine.period_s, where).guarding(settings)
    vigil = Vigil(guarding, is_steady=not machine.is_command, silence_s=SILENCE_S, now_s=0.0)
    t_s = heard_s = 0.0
    vigil.load_began(_LOAD_FROM_S)
    while t_s < LASTS_S:
        t_s += _TICK_S * chance.uniform(0.98, 1.1)
        if t_s < stops_s and t_s - heard_s >= 0.5:
            heard_s = t_s
            vigil.recorder_spoke(t_s)
        true = machine.read(t_s, fails_s)
        reading = true if t_s < fails_s else lie(t_s - fails_s, true)
        reason = "" if reading is None else vigil.reader_spoke(t_s, reading)
        silent = vigil.silence(t_s)
        yield t_s, reason or ("" if silent is None else str(silent))
