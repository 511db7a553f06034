"""One machine of the bench: a chain of heat stores whose way out depends on how hot it is.

What the fit assumes, and how these boxes break it:

* parallel stores on a fixed grid of time constants – here a *chain* of four to seven stores that load one another;
* one law of cooling for all slow stores – here fins, case and (with a fan) both, each with a law of its own;
* an exponent from a short list – here any between 0.18 and 0.33 (natural) or 0.45 and 0.85 (fan), radiation beside it;
* a fan that follows the reading at once – here with a lag of 2 to 45 s, in steps with hysteresis, or along a line;
* heat that warms the box besides the processor as a constant – here it grows a little with the load;
* a hot spot in proportion to power – here it depends on how many cores are busy.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from math import exp, log

LINEAR, FAN, NATURAL = "linear", "fan curve", "natural"


@dataclass
class Box:
    """A machine; temperatures [°C], powers [W], resistances [K/W], capacities [J/K]."""

    kind: str
    resistances: list[float]
    """From the die outwards; the last two are fins → air of the case → room."""
    capacities: list[float]
    exponent: float
    radiation: float
    """Share of the fins' heat that is radiated, at a rise of 40 K."""
    fan_low_c: float
    fan_span_k: float
    fan_ratio: float
    """Fastest over slowest speed."""
    fan_lag_s: float
    fan_steps: int
    """0 = along a line; else so many steps with hysteresis."""
    fan_on_case: float
    """How far the fan blows the case through as well, 0 … 1."""
    recirculation: float
    """Share of the fins' warm air that they draw in again."""
    other_w: float
    """What the rest of the box draws [W], and ..."""
    other_share: float
    """... how much of the processor's watts more under load."""
    cores: int
    hot_spot: float
    """How much larger the die's own resistance is with one core of all busy."""
    idle_w: float
    full_w: float
    """All cores, dynamic part, at the full clock."""
    leak_w: float
    """At 50 °C."""
    leak_k: float

    def watts(self, busy: int, clock: float, die_c: float) -> float:
        """Power with so many busy cores at a share of the clock."""
        share = (busy / self.cores) ** 0.8 if busy else 0.0
        return (
            self.idle_w + self.full_w * share * clock**2.4 + self.leak_w * exp(self.leak_k * (min(die_c, 130.0) - 50.0))
        )

    def die_resistance(self, busy: int) -> float:
        if not busy:
            return self.resistances[0]
        return self.resistances[0] * (1.0 + self.hot_spot * (1.0 - busy / self.cores))

    def fan_wanted(self, shown_c: float, now: float) -> float:
        """Speed it is told, as a share of the fastest."""
        way = min(max((shown_c - self.fan_low_c) / self.fan_span_k, 0.0), 1.0)
        if self.fan_steps:
            step = 1.0 / self.fan_steps
            low = (1.0 - 1.0 / self.fan_ratio) or 1.0
            at = (now - 1.0 / self.fan_ratio) / low
            target = round(way / step) * step
            way = target if abs(way - at) > 0.7 * step else at
        return 1.0 / self.fan_ratio + (1.0 - 1.0 / self.fan_ratio) * way

    def outward(self, temps: list[float], fan: float) -> tuple[float, float]:
        """Resistances of fins → air and air → room as they are now."""
        fins, case = self.resistances[-2], self.resistances[-1]
        if self.kind == FAN:
            blown = fan**self.exponent
            return fins / blown, case / (1.0 - self.fan_on_case + self.fan_on_case * blown)
        if self.kind == NATURAL:
            rise = max(temps[-2] - temps[-1], 1.0)
            convection = (1.0 - self.radiation) * (rise / 40.0) ** self.exponent
            radiation = self.radiation * (1.0 + 0.004 * (rise - 40.0))
            return fins / (convection + radiation), case
        return fins, case

    def step(self, temps: list[float], watts: float, busy: int, fan: float, room_c: float, dt: float) -> None:
        """Move all stores on by ``dt`` (explicit Euler; the fastest store is slower than four steps)."""
        last = len(temps) - 1
        fins, case = self.outward(temps, fan)
        flow = watts
        for at in range(last):
            if at == last - 1:
                inlet = temps[last] + self.recirculation * (temps[at] - temps[last])
                onward = (temps[at] - inlet) / fins
            else:
                resistance = self.die_resistance(busy) if at == 0 else self.resistances[at]
                onward = (temps[at] - temps[at + 1]) / resistance
            temps[at] += (flow - onward) * dt / self.capacities[at]
            flow = onward
        other = self.other_w + self.other_share * watts
        temps[last] += (flow + other - (temps[last] - room_c) / case) * dt / self.capacities[last]

    def steady(self, watts: float, busy: int, room_c: float, offset: float = 0.0) -> float:
        """Die temperature for a constant power, for ever."""
        die = room_c + 20.0
        for _ in range(200):
            fan = self.fan_wanted(die + offset, 0.0) if self.kind == FAN and not self.fan_steps else 1.0
            if self.kind == FAN and self.fan_steps:
                at = 1.0 / self.fan_ratio
                for _ in range(self.fan_steps + 1):
                    at = self.fan_wanted(die + offset, at)
                fan = at
            temps = [die, *[room_c] * (len(self.resistances) - 1)]
            air = room_c + (watts + self.other_w + self.other_share * watts) * self.outward(temps, fan)[1]
            low, high = 0.1, 400.0
            for _ in range(40):
                rise = 0.5 * (low + high)
                r_fins, _ = self.outward([0.0] * (len(self.resistances) - 2) + [air + rise, air], fan)
                if rise * (1.0 - self.recirculation) / r_fins < watts:
                    low = rise
                else:
                    high = rise
            inner = self.die_resistance(busy) + sum(self.resistances[1:-2])
            found = air + rise + watts * inner
            if abs(found - die) < 0.002:
                break
            die += 0.4 * (found - die)
        return die

    def settled(self, busy: int, room_c: float, offset: float = 0.0) -> tuple[float, float]:
        """Die temperature and power of a load at full clock, for ever, leakage included."""
        die = room_c + 30.0
        for _ in range(300):
            watts = self.watts(busy, 1.0, die)
            found = self.steady(watts, busy, room_c, offset)
            if abs(found - die) < 0.005:
                break
            die += 0.6 * (found - die)
        return found, self.watts(busy, 1.0, found)

    def capacity(self, limit_c: float, room_c: float, offset: float) -> float:
        """Watts of all cores at which the sensor stands at the limit for ever."""
        low, high = 0.0, 2000.0
        for _ in range(50):
            watts = 0.5 * (low + high)
            if self.steady(watts, self.cores, room_c, offset) + offset < limit_c:
                low = watts
            else:
                high = watts
        return low


def draw(rng: random.Random) -> Box:
    """A box by chance."""
    kind = rng.choice((LINEAR, FAN, NATURAL))
    full_w = exp(rng.uniform(log(9.0), log(75.0))) if kind != NATURAL else exp(rng.uniform(log(5.0), log(28.0)))
    rise = rng.uniform(28.0, 62.0)
    inner = rng.choice((2, 3, 3, 4, 5))
    shares = [rng.uniform(0.08, 0.28)] + [rng.uniform(0.03, 0.12) for _ in range(inner - 1)]
    shares += [rng.uniform(0.35, 0.65), rng.uniform(0.04, 0.30)]
    whole = rise / (full_w * 1.15) / sum(shares)
    sink_s = exp(rng.uniform(log(60.0), log(420.0))) if kind != NATURAL else exp(rng.uniform(log(150.0), log(1800.0)))
    resistances = [share * whole for share in shares]
    fins_j = sink_s / (resistances[-2] + resistances[-1])
    capacities = [rng.uniform(0.8, 3.0) / resistances[0]]
    capacities += [max(fins_j * rng.uniform(0.03, 0.2), 1.0 / way) for way in resistances[1:inner]]
    capacities += [fins_j, exp(rng.uniform(log(180.0), log(2400.0))) / resistances[-1]]
    return Box(
        kind=kind,
        resistances=resistances,
        capacities=capacities,
        exponent=rng.uniform(0.45, 0.85) if kind == FAN else rng.uniform(0.18, 0.33),
        radiation=rng.uniform(0.0, 0.35),
        fan_low_c=rng.uniform(38.0, 62.0),
        fan_span_k=rng.uniform(12.0, 40.0),
        fan_ratio=rng.uniform(1.5, 3.2),
        fan_lag_s=rng.uniform(2.0, 45.0),
        fan_steps=rng.choice((0, 0, 0, 4, 6)),
        fan_on_case=rng.uniform(0.0, 0.8),
        recirculation=rng.uniform(0.0, 0.15),
        other_w=rng.uniform(0.0, 0.25) * full_w,
        other_share=rng.uniform(0.0, 0.06),
        cores=rng.choice((2, 4, 4, 6, 8, 12)),
        hot_spot=rng.uniform(0.0, 1.0),
        idle_w=rng.uniform(0.04, 0.16) * full_w,
        full_w=full_w,
        leak_w=rng.uniform(0.03, 0.14) * full_w,
        leak_k=rng.uniform(0.010, 0.024),
    )
