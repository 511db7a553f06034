"""A session on a box: what its sensors show, what was done, and the truth behind it."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.benchmarks.boxes.box import FAN, Box, draw

STEP_S = 0.2
STEADY, SAW, DROP = "steady control", "saw-tooth", "hard drop"
CALM, DRIFT, WINDOW = "calm", "drift", "step"


@dataclass
class Phase:
    name: str
    start_s: float
    end_s: float
    busy: int
    settles_c: float = 0.0
    """As the sensor would show it, in the room at the phase's end."""
    settles_w: float = 0.0
    rise_k: float = 0.0
    limited_at_s: float | None = None
    reaches_s: float | None = None
    """When the sensor would show the limit, if nothing held it back."""


@dataclass
class Run:
    seed: int
    box: Box
    phases: list[Phase]
    room_kind: str
    room_at: Callable[[float], float]
    period_s: float
    resolution: float
    sensor_lag_s: float
    offset: float
    noise: float
    power_scale: float
    limiter: str | None
    limit_c: float
    marked: bool
    rows: list[tuple[float, float, float, float, float]] = field(default_factory=list)
    """Time, clock [MHz], power, temperature, load [%] as shown."""
    limited: list[tuple[float, float]] = field(default_factory=list)


def _room(rng: random.Random, kind: str, room_c: float, end_s: float) -> Callable[[float], float]:
    if kind == DRIFT:
        slope = rng.uniform(-1.5, 1.5) / end_s
        return lambda t: room_c + slope * t
    if kind == WINDOW:
        at, by = rng.uniform(0.3, 0.9) * end_s, rng.choice((-1, 1)) * rng.uniform(0.8, 2.5)
        return lambda t: room_c + (by * min((t - at) / 120.0, 1.0) if t > at else 0.0)
    return lambda t: room_c


def _plan(rng: random.Random, cores: int) -> list[Phase]:
    some = max(1, round(cores * rng.choice((0.125, 0.25, 0.5))))
    shapes = (
        (0, some, cores, 0),
        (0, some, cores),
        (0, cores, 0),
        (0, cores),
        (some, cores, 0),
        (cores, some),
        (0, cores, some, 0),
    )
    phases, at = [], 0.0
    for busy in rng.choice(shapes):
        length = rng.uniform(90.0, 420.0) if busy == 0 else rng.uniform(270.0, 1200.0)
        name = "idle" if busy == 0 else "all cores" if busy == cores else "some cores"
        phases.append(Phase(f"{name} {len(phases) + 1}", at, at + length, busy))
        at += length
    return phases


def make_run(seed: int) -> Run:
    """Draw a box and live through its session."""
    rng = random.Random(seed * 7919 + 13)
    box = draw(rng)
    phases = _plan(rng, box.cores)
    end_s = phases[-1].end_s
    room_c = rng.uniform(17.0, 29.0)
    room_kind = rng.choice((CALM, DRIFT, WINDOW))
    offset = rng.gauss(0.0, 1.2)
    free_c, _ = box.settled(box.cores, room_c, offset)
    limiter = rng.choice((STEADY, SAW, DROP)) if rng.random() < 0.36 else None
    if limiter:
        limit_c = room_c + (free_c - room_c) * rng.uniform(0.45, 0.9)
    else:
        limit_c = free_c + rng.choice((rng.uniform(5.0, 30.0), rng.uniform(-12.0, 3.0)))
    run = Run(
        seed, box, phases, room_kind, _room(rng, room_kind, room_c, end_s),
        rng.choice((0.2, 0.5, 1.0, 1.0, 2.0, 5.0)), rng.choice((1.0, 1.0, 0.5, 0.125)), rng.uniform(0.0, 3.0),
        offset, rng.uniform(0.05, 0.35), 1.0 + rng.uniform(-0.03, 0.03), limiter, float(round(limit_c)), rng.random() < 0.8,
    )  # fmt: skip
    _live(run, rng)
    return run


class _Limiter:
    """Holds the shown temperature at a limit by the clock."""

    def __init__(self, run: Run, rng: random.Random) -> None:
        self.kind, self.limit = run.limiter, run.limit_c
        self.clock, self.down, self.acts = 1.0, False, False
        self.hysteresis = rng.uniform(2.0, 6.0) if self.kind == SAW else rng.uniform(6.0, 14.0)
        self.floor = rng.uniform(0.45, 0.75) if self.kind == SAW else rng.uniform(0.3, 0.5)
        self.gain = rng.uniform(0.004, 0.02)

    def step(self, shown_c: float, busy: int, dt: float) -> float:
        if self.kind is None:
            return 1.0
        if not busy:
            self.clock, self.down = 1.0, False
        elif self.kind == STEADY:
            self.clock = min(1.0, max(0.25, self.clock - self.gain * (shown_c - self.limit) * dt))
        else:
            if shown_c >= self.limit:
                self.down = True
            elif shown_c < self.limit - self.hysteresis:
                self.down = False
            self.clock = self.floor if self.down else 1.0
        self.acts = self.clock < 0.97
        return self.clock


def _live(run: Run, rng: random.Random) -> None:
    box, room = run.box, run.room_at
    start = room(0.0)
    other = start + (box.other_w + box.idle_w) * box.resistances[-1]
    temps = [other + 1.0] * len(box.resistances)
    fan, shown, limiter = 1.0 / box.fan_ratio, temps[0] + run.offset, _Limiter(run, rng)
    if rng.random() < 0.25:  # it was busy a moment ago, or has stood idle for an hour
        busy, long_s = rng.choice(((box.cores, 400.0), (0, 2400.0)))
        for _ in range(int(long_s / STEP_S)):
            box.step(temps, box.watts(busy, 0.6, temps[0]), busy, fan, start, STEP_S)
        shown = temps[0] + run.offset
    t, next_s, energy, last_s = 0.0, run.period_s, 0.0, 0.0
    free_mhz = 3200.0
    for phase in run.phases:
        while t < phase.end_s - 1e-9:
            clock = limiter.step(shown, phase.busy, STEP_S)
            if limiter.acts and phase.busy:
                phase.limited_at_s = phase.limited_at_s or t
            watts = box.watts(phase.busy, clock, temps[0])
            box.step(temps, watts, phase.busy, fan, room(t), STEP_S)
            t += STEP_S
            shown += (temps[0] + run.offset - shown) * min(1.0, STEP_S / max(run.sensor_lag_s, STEP_S))
            if box.kind == FAN:
                fan += (box.fan_wanted(shown, fan) - fan) * STEP_S / max(box.fan_lag_s, 1.0)
            energy += watts * STEP_S
            if t >= next_s - 1e-9:
                seen = shown + rng.gauss(0.0, run.noise)
                seen = round(seen / run.resolution) * run.resolution
                mean = energy / (t - last_s) * run.power_scale * (1.0 + rng.gauss(0.0, 0.003))
                load = 100.0 * phase.busy / box.cores + rng.uniform(0.0, 1.5)
                mhz = (free_mhz * clock if phase.busy else 1100.0) * (1.0 + rng.gauss(0.0, 0.002))
                run.rows.append((round(t, 3), mhz, mean, seen, min(load, 100.0)))
                energy, last_s, next_s = 0.0, t, next_s + run.period_s
        _truth(run, phase, temps, fan, shown)


def _truth(run: Run, phase: Phase, temps: list[float], fan: float, shown: float) -> None:
    """The same network gone on to its steady state; and when it would have shown the limit."""
    box, room_c = run.box, run.room_at(phase.end_s)
    die, watts = box.settled(phase.busy, room_c, run.offset)
    phase.settles_c, phase.settles_w, phase.rise_k = die + run.offset, watts, die + run.offset - room_c
    if phase.limited_at_s is not None or not phase.busy or phase.settles_c < run.limit_c + 0.3:
        return
    phase.reaches_s = next((t for t, _, _, seen, _ in run.rows if t > phase.start_s and seen >= run.limit_c), None)
    if phase.reaches_s is not None:
        return
    temps, t = list(temps), phase.end_s
    while shown < run.limit_c and t < phase.end_s + 4 * 3600.0:
        box.step(temps, box.watts(phase.busy, 1.0, temps[0]), phase.busy, fan, room_c, STEP_S)
        shown += (temps[0] + run.offset - shown) * min(1.0, STEP_S / max(run.sensor_lag_s, STEP_S))
        if box.kind == FAN:
            fan += (box.fan_wanted(shown, fan) - fan) * STEP_S / max(box.fan_lag_s, 1.0)
        t += STEP_S
    phase.reaches_s = t
