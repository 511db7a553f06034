"""A user's own command as the load."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping, Sequence
from typing import IO, Any

from benchmon.errors import LoadError
from benchmon.loads.guard import Guarding
from benchmon.loads.kept import Keeping
from benchmon.loads.listening import Heard, Listening
from benchmon.loads.told import stopped_by_keeper
from benchmon.loads.vigil import SILENCE_S
from benchmon.model.command_words import command_words
from benchmon.model.records import LoadAction, LoadChange


class CommandLoad:
    """Runs a command under a keeper; its output goes to a file, which a listener looks through.

    Args:
        argv: command and arguments; no shell is involved.
        open_output: gives the file that its output is added to.
        guarding: what guards it.
        times: how often it is run, as long as it ends well; None = without end.
        cores: numbers of the logical processors it may use; None = all.
        patterns: what its output is looked through for: ``scores``, ``phases``, ``version``.
        silence_s: the keeper ends it when ``poll`` has not been called for so long [s].

    Raises:
        LoadError: if benchmon may not use one of the cores.
    """

    busy_cores: int | None = None
    duty = 1.0

    def __init__(
        self,
        argv: Sequence[str],
        open_output: Callable[[], IO[bytes]],
        guarding: Guarding | None = None,
        *,
        times: int | None = 1,
        cores: Sequence[int] | None = None,
        patterns: Mapping[str, Any] | None = None,
        silence_s: float = SILENCE_S,
    ) -> None:
        self._what: dict[str, Any] = {"kind": "command", "argv": list(argv), "times": times, "cpus": _checked(cores)}
        self._open_output = open_output
        self._guarding = guarding or Guarding()
        self._silence_s = silence_s
        self.words = command_words(argv)
        self._patterns = patterns or {"scores": (), "phases": (), "version": ""}
        self._keeping: Keeping | None = None
        self._listening: Listening | None = None
        self._complaint = ""

    def start(self, t_s: float) -> LoadChange:
        """Start keeper and command.

        Raises:
            LoadError: if there is no such command, or its output cannot be kept.
        """
        name = self._what["argv"][0]
        if shutil.which(name) is None:
            raise LoadError(f"there is no command {name!r}", "Check its name, and that it may be executed.")
        try:
            with self._open_output() as output:
                offset = output.seek(0, os.SEEK_END)
                self._keeping = Keeping(self._what, self._guarding, output, silence_s=self._silence_s)
                self._listen(output.fileno(), offset)
        except OSError as error:
            raise LoadError(f"{self.words} cannot be started: {error.strerror or error}") from error
        return LoadChange(t_s, LoadAction.STARTED, self.words)

    def _listen(self, output: int, offset: int) -> None:
        try:
            self._listening = Listening(output, offset, self._patterns)
        except OSError as error:
            self._complaint = f"the command's output is not looked through: {error.strerror or error}"

    def stop(self, t_s: float, reason: str) -> LoadChange:
        """Have the keeper end it: asked first, made to half a second later."""
        if self._keeping is not None:
            self._keeping.hang_up()
        if self._listening is not None:
            self._listening.finish()
        return LoadChange(t_s, LoadAction.STOPPED, self.words, reason=reason)

    def poll(self, t_s: float) -> LoadChange | None:
        """What ended it: itself, with its status; the guard; or that it could not be started after all."""
        message = self._keeping.hear() if self._keeping is not None else None
        if message is None:
            return None
        if self._listening is not None:
            self._listening.finish()
        if "failed" in message:
            return LoadChange(t_s, LoadAction.FAILED, self.words, reason=str(message["failed"]))
        if "exited" in message:
            status = int(message["exited"])
            reason = f"killed by signal {-status}" if status < 0 else ""
            if self._what["times"] != 1:
                reason = f"run {message['runs']}: {reason}" if reason else _after(message["runs"])
            return LoadChange(t_s, LoadAction.EXITED, self.words, reason=reason, exit_status=status)
        return stopped_by_keeper(message, t_s, self.words)

    def heard(self) -> Sequence[Heard]:
        """What its output has said since the last call; goes on for a moment after its end."""
        if self._complaint:
            complaint, self._complaint = self._complaint, ""
            return [Heard("remark", complaint, None, 0.0)]
        return [] if self._listening is None else self._listening.hear()

    def work_count(self) -> int | None:
        """Not known: it does not count."""
        return None

    def work_time_s(self) -> float | None:
        """Not known: it does not count."""
        return None

    def is_over(self) -> bool:
        """Whether nothing of it is left."""
        is_silent = self._listening is None or self._listening.is_over
        return self._keeping is None or (self._keeping.is_over() and is_silent)

    def close(self) -> None:
        """Wait until nothing of it is left."""
        if self._keeping is not None:
            self._keeping.wait()
        if self._listening is not None:
            self._listening.wait()


def _after(runs: int) -> str:
    return f"after {runs} run" if runs == 1 else f"after {runs} runs"


def _checked(cores: Sequence[int] | None) -> list[int] | None:
    if cores is None:
        return None
    usable = os.sched_getaffinity(0)
    strange = sorted(set(cores) - usable)
    if strange:
        raise LoadError(
            f"there is no logical processor {strange[0]} that benchmon may use",
            f"It may use {', '.join(map(str, sorted(usable)))}.",
        )
    return list(cores)
