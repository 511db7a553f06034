"""Small hand-made signals for the detector's tests: a two-stage thermal model and one plain limiter each.

Not the virtual bench: an independent and much simpler machine, so that the two cannot share a mistake.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from benchmon.analysis.intake.series import Observation


@dataclass
class Box:
    """Die on a heat sink in a room; power goes with clock times voltage squared."""

    room_c: float = 22.0
    die_k_per_w: float = 0.35
    sink_k_per_w: float = 0.8
    die_s: float = 2.5
    sink_s: float = 90.0
    idle_w: float = 4.0
    full_w: float = 60.0
    full_mhz: float = 4200.0
    floor_mhz: float = 800.0
    step_mhz: float = 100.0
    die_rise: float = 0.0
    sink_rise: float = 0.0
    temp_c: float = 22.0
    average_w: float = 0.0
    state: dict[str, float] = field(default_factory=dict)

    def power_at(self, clock_mhz: float, load: float) -> float:
        share = clock_mhz / self.full_mhz
        return self.idle_w + (self.full_w - self.idle_w) * load * share * (0.45 + 0.55 * share) ** 2

    def warm(self, power_w: float, dt_s: float) -> None:
        self.die_rise += (power_w * self.die_k_per_w - self.die_rise) * min(dt_s / self.die_s, 1.0)
        self.sink_rise += (power_w * self.sink_k_per_w - self.sink_rise) * min(dt_s / self.sink_s, 1.0)
        self.temp_c = self.room_c + self.die_rise + self.sink_rise


Limiter = Callable[[Box, float, float], float]
"""(box, time, power of the last step) → highest clock [MHz]."""


def free(box: Box, t_s: float, power_w: float) -> float:
    return box.full_mhz


def glide_at(limit_c: float) -> Limiter:
    """Firmware that lowers the clock a step while it is above the limit and raises it below."""

    def limiter(box: Box, t_s: float, power_w: float) -> float:
        cap = box.state.get("cap", box.full_mhz)
        if t_s - box.state.get("acted", -1.0) >= 0.25:
            box.state["acted"] = t_s
            if box.temp_c > limit_c:
                cap = max(cap - box.step_mhz, box.floor_mhz)
            elif box.temp_c < limit_c - 0.7:
                cap = min(cap + box.step_mhz, box.full_mhz)
        box.state["cap"] = cap
        return cap

    return limiter


def sawtooth_at(limit_c: float, back_c: float, low_mhz: float) -> Limiter:
    def limiter(box: Box, t_s: float, power_w: float) -> float:
        low = box.state.get("low", 0.0)
        if box.temp_c >= limit_c:
            low = 1.0
        elif box.temp_c <= back_c:
            low = 0.0
        box.state["low"] = low
        return low_mhz if low else box.full_mhz

    return limiter


def latch_at(limit_c: float, low_mhz: float) -> Limiter:
    return sawtooth_at(limit_c, -100.0, low_mhz)


def running_average(limit_w: float, window_s: float) -> Limiter:
    """A sustained power limit on an exponentially weighted average; clock in fine steps."""

    def limiter(box: Box, t_s: float, power_w: float) -> float:
        last = box.state.get("t", t_s)
        box.state["t"] = t_s
        average = box.state.get("average", box.idle_w)
        average += (power_w - average) * min((t_s - last) / window_s, 1.0)
        box.state["average"] = average
        if average >= limit_w * 0.995:
            clock = box.full_mhz
            while clock > box.floor_mhz and box.power_at(clock, 1.0) > limit_w:
                clock -= 25.0
            box.state["held"] = 1.0
            return clock
        return box.full_mhz

    return limiter


def clamp_between(start_s: float, end_s: float, mhz: float) -> Limiter:
    return lambda box, t_s, power_w: mhz if start_s <= t_s < end_s else box.full_mhz


def run(
    limiter: Limiter = free,
    *,
    box: Box | None = None,
    load: Callable[[float], float] = lambda t_s: 1.0 if t_s >= 20.0 else 0.0,
    duration_s: float = 300.0,
    period_s: float = 1.0,
    noise: float = 0.002,
    temp_step_c: float = 1.0,
    seed: int = 1,
    idle_mhz: float = 800.0,
    known: Observation | None = None,
    power_factor: Callable[[float], float] = lambda t_s: 1.0,
) -> Iterator[Observation]:
    """Observations of one run: idle for 20 s, then all cores until the end, unless told otherwise."""
    box = box or Box()
    rng = random.Random(seed)
    box.temp_c = box.room_c
    template = known or Observation(0.0)
    t_s, power, next_s, energy, last_s = 0.0, box.idle_w, period_s, 0.0, 0.0
    clock_sum = load_sum = 0.0
    steps = 0
    while t_s < duration_s:
        dt_s = 0.05
        t_s += dt_s
        asked = load(t_s)
        clock = limiter(box, t_s, power) if asked > 0.0 else idle_mhz
        if asked <= 0.0:
            limiter(box, t_s, power)
        power = box.power_at(clock, asked) * power_factor(t_s)
        box.warm(power, dt_s)
        energy += power * dt_s
        clock_sum, load_sum, steps = clock_sum + clock, load_sum + asked, steps + 1
        if t_s + 1e-9 >= next_s:
            next_s += period_s
            yield template._replace(
                t_s=round(t_s, 3),
                clock_mhz=clock_sum / steps * (1.0 + rng.gauss(0.0, noise)),
                power_w=energy / (t_s - last_s) * (1.0 + rng.gauss(0.0, noise)),
                temp_c=round((box.temp_c + rng.gauss(0.0, 0.15)) / temp_step_c) * temp_step_c,
                load_pct=min(100.0 * load_sum / steps + (rng.random() if asked < 1.0 else 0.0), 100.0),
            )
            energy, clock_sum, load_sum, steps, last_s = 0.0, 0.0, 0.0, 0, t_s
