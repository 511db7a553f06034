"""Two runs as they happen on the bench, as plain samples: what any tool for this job must get right.

Common practice, no source. Written out by hand from a few numbers, not by the virtual bench, so that neither can hide
the other's mistakes. Values by canonical key, one sample a second.
"""

import math
import random
from collections.abc import Iterator

from benchmon.model import keys

ROOM_C = 24.0
COOL_ENOUGH, TOO_HOT = "dormouse two", "kiln four"
"""Names of the two machines; invented, like all of them."""
IDLE_S, ONE_CORE_S, ALL_CORES_S = 120, 1200, 1200


class Approach:
    """A quantity that approaches its aim exponentially."""

    def __init__(self, value: float, tau_s: float) -> None:
        self.value, self._share = value, 1.0 - math.exp(-1.0 / tau_s)

    def towards(self, aim: float) -> float:
        self.value += (aim - self.value) * self._share
        return self.value


def _sample(
    rng: random.Random, clock: float, power: float, temp: float, load: float, idle_mhz: float
) -> dict[str, float]:
    return {
        keys.CLOCK: (clock if load > 1 else idle_mhz) * rng.gauss(1.0, 0.002),
        keys.PACKAGE_POWER: power * rng.gauss(1.0, 0.006),
        keys.PROCESSOR_TEMP: float(round(temp + rng.gauss(0.0, 0.2))),
        keys.LOAD: max(0.0, min(100.0, load + rng.uniform(-0.6, 0.0))),
    }


def cool_enough(seed: int = 1) -> Iterator[tuple[float, dict[str, float]]]:
    """A two-core part rated at 35 W: full 2.9 GHz throughout, 60 °C at 10 W on one core, 71 °C at 15 W on both.

    It does not throttle. About 120 s idle, 20 min one core, 20 min all cores.
    """
    rng, temp = random.Random(seed), Approach(41.0, 170.0)
    for t_s in range(IDLE_S + ONE_CORE_S + ALL_CORES_S):
        if t_s < IDLE_S:
            power, aim, load = 4.0, 41.0, 1.0
        elif t_s < IDLE_S + ONE_CORE_S:
            power, aim, load = 10.0, 60.0, 50.0
        else:
            power, aim, load = 15.0, 71.0, 100.0
        yield float(t_s), _sample(rng, 2900.0, power, temp.towards(aim), load, 1200.0)


def too_hot(seed: int = 1, all_cores_s: int = ALL_CORES_S) -> Iterator[tuple[float, dict[str, float]]]:
    """A four-core part rated at 45 W: all cores start at 2.4 GHz and 35 W; at 73 °C it falls to 22 W and 1.4 GHz.

    It throttles, at a plateau of 73 °C, from where the temperature first gets there until the load ends.
    About 120 s idle, then all cores.
    """
    rng, temp, down = random.Random(seed), Approach(42.0, 60.0), Approach(0.0, 4.0)
    limited = False
    for t_s in range(IDLE_S + all_cores_s):
        if t_s < IDLE_S:
            yield float(t_s), _sample(rng, 2400.0, 6.0, temp.towards(42.0), 1.0, 800.0)
            continue
        limited = limited or temp.value >= 73.0
        share = down.towards(1.0 if limited else 0.0)
        celsius = 73.0 if limited else temp.towards(88.0)
        yield float(t_s), _sample(rng, 2400.0 - 1000.0 * share, 35.0 - 13.0 * share, celsius, 100.0, 800.0)


def too_hot_since_s() -> float:
    """When the second part's limit sets in [s]: from its approach alone."""
    # 42 → 88 °C with 60 s: 73 °C after 60·ln(46/15) seconds.
    return IDLE_S + 60.0 * math.log(46.0 / 15.0)


SETTINGS_COOL_ENOUGH = {keys.RATED_CLOCK: 2900.0, keys.HIGHEST_CLOCK: 2900.0, keys.LOWEST_CLOCK: 1200.0}
SETTINGS_TOO_HOT = {keys.RATED_CLOCK: 2400.0, keys.HIGHEST_CLOCK: 2400.0, keys.LOWEST_CLOCK: 800.0}
