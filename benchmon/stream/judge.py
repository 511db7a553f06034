"""Who says that a phase has settled, or that the processor is held back: the recorder itself does not know.

``analysis/`` knows, and may not be seen from here. The command that starts a recording puts the two together, and only
where a plan asks for it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from benchmon.model.records import Record


class Judge(Protocol):
    """Hears every record as it stands in the file."""

    def accept(self, record: Record) -> None:
        """Take the next record."""

    @property
    def is_settled(self) -> bool:
        """Whether the temperature of the present phase has settled."""

    @property
    def held_since_s(self) -> float | None:
        """Since when the processor has been held back [s]; None if it is not."""


class DoubtedJudge:
    """A judge that may fail: then nothing has settled and nothing is held back, and greatest times end the phases.

    Args:
        judge: who is asked; None = nobody.
        failed: told, once, what went wrong.
    """

    def __init__(self, judge: Judge | None, failed: Callable[[str], None]) -> None:
        self._judge = judge
        self._failed = failed

    def accept(self, record: Record) -> None:
        """Pass a record on."""
        if self._judge is None:
            return
        try:
            self._judge.accept(record)
        except Exception as error:  # noqa: BLE001  # whatever it is, the recording is worth more
            self._judge = None
            self._failed(f"what settles is no longer judged ({type(error).__name__}: {error}); greatest times hold")

    @property
    def is_settled(self) -> bool:
        """Whether the temperature of the present phase has settled."""
        return self._judge is not None and self._judge.is_settled

    @property
    def held_since_s(self) -> float | None:
        """Since when the processor has been held back [s]; None if it is not."""
        return None if self._judge is None else self._judge.held_since_s
