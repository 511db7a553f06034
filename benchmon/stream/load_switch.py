"""Starts and stops the load; at most one runs, and none is left behind."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from benchmon.errors import LoadError
from benchmon.loads.protocol import Load, Speaking
from benchmon.model.command_words import command_words
from benchmon.model.records import LoadAction, LoadChange
from benchmon.model.work_kinds import KIND_WORDS, duty_words
from benchmon.stream.options import CommandChoice, LoadChoice

if TYPE_CHECKING:
    from benchmon.loads.listening import Heard


class LoadSwitch:
    """Holds the load that runs.

    Args:
        make: makes a load from what was chosen; may raise LoadError.
    """

    def __init__(self, make: Callable[[LoadChoice], Load]) -> None:
        self._make = make
        self._leaving: list[Load] = []
        self.running: Load | None = None

    def start(self, choice: LoadChoice, t_s: float, warning: str = "") -> LoadChange:
        """Start a load; if it cannot be, the change says so (``FAILED``).

        Args:
            choice: what to start.
            t_s: session time [s].
            warning: kept beside the start, for example that nothing guards it.
        """
        try:
            load = self._make(choice)
        except LoadError as error:
            return LoadChange(t_s, LoadAction.FAILED, words_of(choice), reason=error.message)
        try:
            change = load.start(t_s)
        except LoadError as error:
            return LoadChange(t_s, LoadAction.FAILED, load.words, load.busy_cores, error.message)
        self.running = load
        return replace(change, reason="; ".join(filter(None, (warning, change.reason))))

    def stop(self, t_s: float, reason: str) -> LoadChange | None:
        """Stop what runs; None if nothing does."""
        load = self._release()
        return None if load is None else load.stop(t_s, reason)

    @property
    def is_tidy(self) -> bool:
        """Whether nothing is left of the loads before."""
        return not self._leaving

    def poll(self, t_s: float) -> LoadChange | None:
        """What befell the load; sees to it that those before it go."""
        self._leaving = [load for load in self._leaving if not load.is_over()]
        change = self.running.poll(t_s) if self.running is not None else None
        if change is not None and change.action is not LoadAction.STARTED:
            self._release()
        return change

    def heard(self) -> list[Heard]:
        """What the load, and those before it, have printed since the last call."""
        loads = [*self._leaving, *([] if self.running is None else [self.running])]
        return [one for load in loads if isinstance(load, Speaking) for one in load.heard()]

    def close(self) -> None:
        """Wait until nothing of any load is left; what they printed last can still be heard."""
        self.stop(0.0, "")
        for load in self._leaving:
            load.close()

    def _release(self) -> Load | None:
        load, self.running = self.running, None
        if load is not None:
            self._leaving.append(load)
        return load


def words_of(choice: LoadChoice) -> str:
    """A load that could not even be made, in words."""
    if isinstance(choice, CommandChoice):
        return command_words(choice.argv)
    return f"{KIND_WORDS.get(choice.work, choice.work)}{duty_words(choice.duty)}"
