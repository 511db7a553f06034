"""Reading all sensors once: in the caller's thread, or beside it, where one that does not answer holds up nothing."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

from benchmon.sampler.beside import Beside
from benchmon.sensors.protocol import Sensor

Values = tuple[float | None, ...]
SLOW_S = 0.3
"""A sensor that takes so long is read on a thread of its own from then on."""
_QUICK_S = 0.1
_QUICK_ROUNDS = 10
"""So many quick answers in a row, and it may come back."""
_STALE_S, _STALE_PERIODS = 5.0, 3.0
TOO_SLOW = f"answers too slowly (more than {SLOW_S:g} s); it is read beside the recording"


class PlainRounds:
    """Reads in the caller's thread; for machines of the virtual bench, whose files always answer.

    Args:
        sensors: what to read.
        moment_s: gives the session's time of a reading [s].
    """

    def __init__(self, sensors: Sequence[Sensor], moment_s: Callable[[], float]) -> None:
        self._sensors = tuple(sensors)
        self._moment_s = moment_s
        self.faults: dict[int, str] = {}
        """Sensors that failed in the last round: place → what to say."""

    def read(self) -> list[Values]:
        """The values of each sensor."""
        self.faults.clear()
        return [self.one(index) for index in range(len(self._sensors))]

    def one(self, index: int) -> Values:
        """The values of one sensor now."""
        sensor = self._sensors[index]
        try:
            return sensor.read(self._moment_s())
        except Exception as fault:  # noqa: BLE001  # one faulty sensor must not end an hour's recording
            self.faults[index] = f"fault in reading it: {type(fault).__name__}: {fault}"
            return (None,) * len(sensor.channels)


class _Errand:
    """Reads some sensors in a row on its thread, and shows at which it is."""

    def __init__(self, one: Callable[[int], Values], indexes: list[int]) -> None:
        self._one = one
        self.indexes = indexes
        self.values: dict[int, tuple[float, Values]] = {}
        """Place → when it was read [s of ``time.monotonic``], and what."""
        self.at: tuple[int, float] | None = None
        """Which is being read, and since when [s]."""

    def __call__(self) -> None:
        indexes = self.indexes
        for index in indexes:
            self.at = index, time.monotonic()
            values = self._one(index)
            self.values[index] = time.monotonic(), values
            if self.indexes is not indexes:  # it took too long, and the others were given to somebody else
                break
        self.at = None


class RoundsBeside(PlainRounds):
    """Reads on a thread, and each sensor that does not answer in time on one of its own.

    Args:
        sensors: what to read.
        moment_s: gives the session's time of a reading [s].
        period_s: time between rounds [s].
    """

    def __init__(self, sensors: Sequence[Sensor], moment_s: Callable[[], float], period_s: float) -> None:
        super().__init__(sensors, moment_s)
        self._stale_s = max(_STALE_S, _STALE_PERIODS * period_s)
        self._slow: dict[int, tuple[_Errand, Beside[None], list[int]]] = {}
        self._begin(list(range(len(self._sensors))))

    def read(self) -> list[Values]:
        """The values of each sensor; of slow ones the latest, if it is fresh."""
        for index in tuple(self._slow):
            self._ask_slow(index)
        for index in tuple(self.faults):
            if index not in self._slow:
                del self.faults[index]
        quick = self._errand
        self._beside.ask()
        found = self._finish(list(quick.indexes))
        return [found.get(index) or self._latest(index) for index in range(len(self._sensors))]

    def _finish(self, wanted: list[int]) -> dict[int, Values]:
        """Wait for the round; whoever holds it up is moved aside, and the others are read without it."""
        found: dict[int, Values] = {}
        wait_s = SLOW_S
        while True:
            done = self._beside.wait(wait_s)
            at = self._errand.at
            for index in wanted:
                if index in self._errand.values and (at is None or at[0] != index):
                    found[index] = self._errand.values.pop(index)[1]
            if done:
                self._errand.indexes = [i for i in range(len(self._sensors)) if i not in self._slow]
                return found
            wait_s = SLOW_S if at is None else SLOW_S - (time.monotonic() - at[1])
            if at is not None and wait_s <= 0:
                self._move_aside(at[0])
                wanted = [index for index in wanted if index not in found and index != at[0]]
                self._begin(wanted)
                self._beside.ask()
                wait_s = SLOW_S

    def _begin(self, indexes: list[int]) -> None:
        self._errand = _Errand(self.one, indexes)
        self._beside: Beside[None] = Beside(self._errand)

    def _move_aside(self, index: int) -> None:
        self._errand.indexes = [index]
        self._slow[index] = self._errand, self._beside, [0]
        self.faults[index] = TOO_SLOW

    def _ask_slow(self, index: int) -> None:
        """Ask a slow sensor again if it has answered; one that has become quick may come back."""
        errand, beside, quick_rounds = self._slow[index]
        if not beside.is_idle:
            return
        quick_rounds[0] = quick_rounds[0] + 1 if beside.took_s < _QUICK_S else 0
        if quick_rounds[0] > _QUICK_ROUNDS:
            del self._slow[index]
            self._errand.indexes = sorted([*self._errand.indexes, index])
            self.faults.pop(index, None)
            return
        if index in errand.values and self.faults.get(index) == TOO_SLOW:
            del self.faults[index]
        beside.ask()

    def _latest(self, index: int) -> Values:
        if index in self._slow:
            read = self._slow[index][0].values.get(index)
            if read is not None and time.monotonic() - read[0] <= self._stale_s:
                return read[1]
            self.faults[index] = TOO_SLOW
        return (None,) * len(self._sensors[index].channels)
