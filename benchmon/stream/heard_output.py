"""What a command printed, as records of the session: phases, scores, its version, and what went wrong in reading it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from benchmon.loads.output_lines import TOO_MUCH
from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, MarkKind, Record, Setting
from benchmon.stream.marking import MarkBook

if TYPE_CHECKING:
    from benchmon.loads.listening import Heard

SOURCE = "the command's output"
_SAME_MOMENT_S = 1.0
"""A phase that the output begins so soon after the load began with it."""


class HeardOutput:
    """Makes records of what was heard.

    Args:
        marks: numbers the marks.
        accept: takes the records.
    """

    def __init__(self, marks: MarkBook, accept: Callable[[Record], None]) -> None:
        self._marks = marks
        self._accept = accept
        self._load_s: float | None = None
        """When the phase began that the load began with, until its output begins another [s]."""

    def load_started(self, change: LoadChange, output: Path | None) -> None:
        """A load has started, and what it prints goes to this file."""
        is_marked = abs(change.t_s - self._marks.phase_s) < _SAME_MOMENT_S
        self._load_s = self._marks.phase_s if is_marked else change.t_s
        if output is not None and change.action is LoadAction.STARTED and change.busy_cores is None:
            self._accept(Setting(change.t_s, keys.COMMAND_OUTPUT, output.name, None, SOURCE))

    def take(self, heard: Iterable[Heard], now_s: float) -> str:
        """What was heard until a session time [s]; gives the reason to stop the load, if there is one."""
        reason = ""
        for one in heard:
            reason = one.text if one.what == TOO_MUCH else reason
            self._take(one, now_s)
        return reason

    def _take(self, heard: Heard, now_s: float) -> None:
        t_s = max(0.0, now_s - heard.ago_s)
        if heard.what == "phase":
            at_s = self._load_s if self._load_s is not None and abs(t_s - self._load_s) < _SAME_MOMENT_S else t_s
            self._load_s = None
            self._accept(self._marks.enter(now_s, MarkKind.PHASE, heard.text, t_s=at_s, source=SOURCE))
        elif heard.what == "score":
            self._accept(self._marks.enter(now_s, MarkKind.SCORE, heard.text, heard.value, t_s, source=SOURCE))
        elif heard.what == "version":
            self._accept(Setting(t_s, keys.COMMAND_VERSION, heard.text, None, SOURCE))
        else:
            self._accept(self._marks.enter(now_s, MarkKind.NOTE, heard.text, t_s=t_s, source=SOURCE))
