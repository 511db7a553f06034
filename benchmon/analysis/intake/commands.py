"""Which commands of the user were the load, and how each ended."""

from __future__ import annotations

from dataclasses import replace

from benchmon.model.findings import CommandRun
from benchmon.model.records import LoadAction, LoadChange

_MOST = 200
"""A damaged or made-up file may hold any number."""


class CommandKeeper:
    """Follows the load changes that speak of commands: those of which nobody knows how many cores they keep busy."""

    def __init__(self) -> None:
        """Start with none."""
        self._runs: list[CommandRun] = []

    @property
    def runs(self) -> tuple[CommandRun, ...]:
        """In order of time."""
        return tuple(self._runs)

    def feed(self, change: LoadChange) -> None:
        """Take the next change of the load."""
        if change.busy_cores is not None:
            return
        if change.action is LoadAction.STARTED and len(self._runs) < _MOST:
            self._runs.append(CommandRun(change.what, change.t_s, None, None, ""))
        elif change.action in {LoadAction.STOPPED, LoadAction.EXITED} and self._runs and self._runs[-1].end_s is None:
            run = replace(self._runs[-1], end_s=change.t_s, exit_status=change.exit_status, reason=change.reason)
            self._runs[-1] = run
        elif change.action is LoadAction.FAILED and self._runs and self._runs[-1].end_s is None:
            self._runs[-1] = replace(self._runs[-1], end_s=change.t_s, reason=change.reason)
