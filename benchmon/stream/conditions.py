"""Whether the conditions of a plan hold, from what is read and from the judge."""

from __future__ import annotations

from collections import deque
from math import fsum

from benchmon.model import keys
from benchmon.model.plan import Condition, ConditionKind
from benchmon.model.records import LoadAction, LoadChange, Record, Sample, SessionHeader
from benchmon.stream.judge import Judge

_MEAN_S = 3.0
"""A temperature is the mean of so much time [s]: one noisy reading ends nothing."""


class Conditions:
    """Follows the records as far as conditions need them.

    Args:
        judge: is asked for what has settled and what is held back.
    """

    def __init__(self, judge: Judge) -> None:
        self._judge = judge
        self._column: int | None = None
        self._lately: deque[tuple[float, float]] = deque()
        self._began_s = 0.0
        self._hot_c: float | None = None
        self._coolest_c: float | None = None
        self._has_ended = False
        self.is_confirmed = False
        """A person has said that the present phase is done."""

    def accept(self, record: Record) -> None:
        """Take the next record."""
        if isinstance(record, SessionHeader):
            channels = [channel.key for channel in record.channels]
            self._column = channels.index(keys.PROCESSOR_TEMP) if keys.PROCESSOR_TEMP in channels else None
        elif isinstance(record, LoadChange):
            self._has_ended = record.action is not LoadAction.STARTED
        elif isinstance(record, Sample) and self._column is not None:
            self._read(record.t_s, record.values[self._column])

    def begin(self, t_s: float) -> None:
        """A phase begins now."""
        self._began_s, self._hot_c = t_s, self._temp_c
        self._has_ended = self.is_confirmed = False

    def holds(self, condition: Condition, now_s: float) -> bool:
        """Whether a condition holds now [s]."""
        value, temp_c = condition.value or 0.0, self._temp_c
        match condition.kind:
            case ConditionKind.SETTLED:
                return self._judge.is_settled
            case ConditionKind.HELD_BACK:
                since_s = self._judge.held_since_s
                return since_s is not None and now_s - max(since_s, self._began_s) >= value
            case ConditionKind.COMMAND_ENDED:
                return self._has_ended
            case ConditionKind.CONFIRMED:
                return self.is_confirmed
            case ConditionKind.COOLED:
                return temp_c is not None and self._has_cooled(temp_c, value / 100.0)
            case ConditionKind.BELOW:
                return temp_c is not None and temp_c < value
            case ConditionKind.ABOVE:
                return temp_c is not None and temp_c > value

    @property
    def _temp_c(self) -> float | None:
        return fsum(temp_c for _, temp_c in self._lately) / len(self._lately) if self._lately else None

    def _has_cooled(self, temp_c: float, share: float) -> bool:
        if self._hot_c is None or self._coolest_c is None:
            return False
        return temp_c <= self._hot_c - share * (self._hot_c - self._coolest_c)

    def _read(self, t_s: float, temp_c: float | None) -> None:
        while self._lately and t_s - self._lately[0][0] >= _MEAN_S:
            self._lately.popleft()
        if temp_c is None:
            return
        self._lately.append((t_s, temp_c))
        mean_c = self._temp_c
        if mean_c is not None and (self._coolest_c is None or mean_c < self._coolest_c):
            self._coolest_c = mean_c
