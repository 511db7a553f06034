"""What the keeper makes of what it hears, and of what it does not hear: it opens nothing and waits for nothing.

Two speak to it: the reader, of the guarded temperature, and the recorder, which only shows that it lives. The silence
of either ends the load, like a temperature that must.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from benchmon.loads.guard import Guard, Guarding
from benchmon.loads.reader import READ_EVERY_S

SILENCE_S = 2.2
"""So long a recorder, or a reader that has nothing to guard, may say nothing before the load is ended."""
_ANSWERS_WITHIN_S = 2 * READ_EVERY_S


class Vigil:
    """Watches over one load.

    Args:
        guarding: what guards it.
        is_steady: built-in work, which is steady and busy by itself; a command need not be.
        silence_s: how long the recorder may be silent [s].
        now_s: time on an axis that never goes back [s], as everywhere here.
    """

    def __init__(self, guarding: Guarding, *, is_steady: bool, silence_s: float, now_s: float) -> None:
        self._guarding = guarding
        self._is_steady = is_steady
        self._silence_s = silence_s
        self._guard = Guard(
            guarding.stop_c, patience_s=guarding.patience_s, expects=bool(guarding.file), is_steady=is_steady
        )
        self._heard_s = self._read_s = now_s

    def recorder_spoke(self, now_s: float) -> None:
        """The recorder lives."""
        self._heard_s = now_s

    def load_began(self, now_s: float) -> None:
        """The work starts now."""
        self._guard.load_changed(now_s)

    def reader_spoke(self, now_s: float, reading: Mapping[str, Any]) -> str:
        """Why the load must stop, going by what the reader said; empty if it may go on."""
        self._read_s = now_s
        return self._judge(now_s, reading)

    def silence(self, now_s: float) -> Mapping[str, object] | None:
        """What to tell the recorder if somebody has been silent for too long; None if nobody has."""
        if self.is_reader_late(now_s):
            reason = self._judge(now_s, {"why": "not read: its file does not answer,"})
            if reason:
                return {"guard": reason}
        if now_s - self._heard_s > self._silence_s:
            return {"silent": self._silence_s}
        if now_s - self._read_s > SILENCE_S:  # nothing is guarded, but it would end the load if the keeper could not
            return {"lost": "the second of its two keepers did not run any more"}
        return None

    def is_reader_late(self, now_s: float) -> bool:
        """Whether the reader is held up."""
        return now_s - self._read_s > _ANSWERS_WITHIN_S

    def _judge(self, now_s: float, reading: Mapping[str, Any]) -> str:
        if not self._guarding.file:
            return ""
        return self._guard.judge(
            now_s,
            reading.get("temp_c"),
            loaded=True,
            default_c=self._guarding.stop_c,
            beside_c=reading.get("beside_c"),
            limit_c=self._guarding.limit_c,
            is_busy=self._is_steady or bool(reading.get("is_busy")),
            why=str(reading.get("why", "not read")),
        )
