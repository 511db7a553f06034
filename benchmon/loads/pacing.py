"""Work for a share of the time: each worker works and rests within a short period, in turns and not all at once.

The period is short against what a processor's temperature sensor follows. Heat crosses a die of 0.8 mm in some 7 ms and
a copper spreader of 2.5 mm in some 60 ms (thickness² / diffusivity: silicon 0.88 cm²/s, copper 1.1 cm²/s, handbook
values), so that all but the outermost silicon feels nearly the mean. Workers take turns: so the package draws nearly
the same power all the time, which is what a part load is for. All at once would swing the whole package between full
load and none fifty times a second; that shakes supply and regulators, can be heard, and is no steady heat.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from math import floor

PERIOD_S = 0.02


class Pace:
    """Tells one worker when to rest, by the processor time it has used.

    Every period gives it its share; what a long unit uses beyond that, it rests for in the periods that follow. What
    others took from it, it may make up for within the period, not later.

    Args:
        duty: share of the time to work, 0 < duty < 1.
        offset: place of its turn within the period, 0 … 1.
        clock: gives the time, the same for all workers [s].
        sleep: rests for so long [s].
    """

    def __init__(
        self,
        duty: float,
        offset: float,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], object] = time.sleep,
    ) -> None:
        self._share_s = duty * PERIOD_S
        self._offset_s = offset * PERIOD_S
        self._clock = clock
        self._sleep = sleep
        self._left_s = self._share_s
        self._turn = self._turn_at(clock())

    def rest(self, used_s: float) -> None:
        """Rest until there is time to work again, if there is none now.

        Args:
            used_s: processor time that the unit just done has used [s].
        """
        now_s = self._clock()
        turn = self._turn_at(now_s)
        self._left_s = min(self._share_s, self._left_s + (turn - self._turn) * self._share_s - used_s)
        self._turn = turn
        if self._left_s <= 0.0:
            turns = int(-self._left_s / self._share_s) + 1
            self._sleep(max(0.0, (turn + turns) * PERIOD_S + self._offset_s - now_s))

    def _turn_at(self, t_s: float) -> int:
        return floor((t_s - self._offset_s) / PERIOD_S)
