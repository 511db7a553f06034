"""A user's own command that prints a number: a wall meter, a room thermometer.

It never delays a sample: the command runs beside the recorder, and its last answer is given while it is fresh. It comes
from the command line only, never from a session file, and no shell is involved.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import re
import shlex
import signal
import subprocess
from math import isfinite

from benchmon.errors import UsageError
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.command_words import command_words
from benchmon.model.durations import seconds_of
from benchmon.model.units import Unit

DEFAULT_PERIOD_S = 2.0
SHORTEST_PERIOD_S = 0.5
STALE_AFTER_PERIODS = 3
_LONGEST_RUN_S = 10.0
_MOST_BYTES = 4096
_PR_SET_PDEATHSIG = 1

_LABELS = {keys.WALL_POWER: "power at the wall", keys.ROOM_TEMP: "room temperature"}
_HINT = 'Write for example --reading "wall_w=/home/me/read-meter@2s"; the key ends in a unit: _w, _c, _rpm …'


def parse_reading(text: str) -> ReadingCommand:
    """``wall_w=COMMAND@2s`` → the sensor; without ``@…`` it runs every 2 s.

    Raises:
        UsageError: if key, command or period make no sense.
    """
    key, equals, rest = text.partition("=")
    key = key.strip()
    unit = _unit_of(key)
    if not equals or unit is None:
        raise UsageError(f"the reading {text!r} cannot be understood", _HINT)
    command, at, tail = rest.rpartition("@")
    period_s = seconds_of(tail) if at else None
    if period_s is None:
        command, period_s = rest, DEFAULT_PERIOD_S
    try:
        argv = shlex.split(command)
    except ValueError as error:
        raise UsageError(f"the command of {key} cannot be understood: {error}", _HINT) from None
    if not argv or period_s < SHORTEST_PERIOD_S:
        problem = "has no command" if not argv else f"cannot run more often than every {SHORTEST_PERIOD_S:g} s"
        raise UsageError(f"the reading {key} {problem}", _HINT)
    return ReadingCommand(key, unit, argv, period_s)


def _unit_of(key: str) -> Unit | None:
    if not re.fullmatch(r"[a-z][a-z0-9_]*_[a-z_]+", key):
        return None
    fitting = [unit for unit in Unit if key.endswith("_" + unit.suffix)]
    return max(fitting, key=lambda unit: len(unit.suffix), default=None)


class ReadingCommand:
    """A sensor that runs a command again and again.

    Args:
        key: the channel's key.
        unit: the channel's unit.
        argv: command and arguments.
        period_s: time between starts [s].
    """

    def __init__(self, key: str, unit: Unit, argv: list[str], period_s: float) -> None:
        label = _LABELS.get(key, key.removesuffix("_" + unit.suffix).replace("_", " "))
        self.channels: tuple[Channel, ...] = (Channel(key, label, unit, f"command: {command_words(argv)}"),)
        self._argv = argv
        self._period_s = period_s
        self._run: subprocess.Popen[bytes] | None = None
        self._output = b""
        self._due_s: float | None = None
        self._started_s = 0.0
        self._value: float | None = None
        self._value_s = 0.0
        self._why = "no answer yet"

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """The latest answer; None before the first, after a failure, and when it is three periods old."""
        if self._run is not None:
            self._collect(self._run, now_s)
        if self._run is None and (self._due_s is None or now_s >= self._due_s):
            self._start(now_s)
        if self._value is not None and now_s - self._value_s > STALE_AFTER_PERIODS * self._period_s:
            self._fail(f"no new answer for {STALE_AFTER_PERIODS * self._period_s:g} s")
        return (self._value,)

    def why_not(self) -> tuple[str, ...]:
        """Why there is no value."""
        return ("" if self._value is not None else self._why,)

    def close(self) -> None:
        """End the command if it runs."""
        if self._run is not None:
            self._kill(self._run)

    def _start(self, now_s: float) -> None:
        self._due_s = now_s + self._period_s
        self._started_s, self._output = now_s, b""
        try:
            self._run = subprocess.Popen(
                self._argv,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
                preexec_fn=_end_with_recorder,  # noqa: PLW1509  # it makes one system call and takes no lock
            )
        except OSError as error:
            self._fail(f"{self._argv[0]}: {error.strerror or error}")
            return
        if self._run.stdout is not None:
            os.set_blocking(self._run.stdout.fileno(), False)

    def _collect(self, run: subprocess.Popen[bytes], now_s: float) -> None:
        piece = run.stdout.read(_MOST_BYTES) if run.stdout is not None else None
        self._output = (self._output + (piece or b""))[-_MOST_BYTES:]
        status = run.poll()
        if status is None:
            longest_s = max(_LONGEST_RUN_S, self._period_s)
            if now_s - self._started_s > longest_s:
                self._kill(run)
                self._fail(f"{self._argv[0]} took longer than {longest_s:g} s")
            return
        if run.stdout is not None:
            self._output += run.stdout.read(_MOST_BYTES) or b""
        self._release(run)
        if status != 0:
            self._fail(f"{self._argv[0]} ended with status {status}")
            return
        self._take(now_s)

    def _take(self, now_s: float) -> None:
        words = self._output.decode("utf-8", "replace").split()
        with contextlib.suppress(ValueError, IndexError):
            value = float(words[0])
            if isfinite(value):
                self._value, self._value_s = value, now_s
                return
        self._fail(f"{self._argv[0]} printed no number")

    def _fail(self, why: str) -> None:
        self._value, self._why = None, why

    def _kill(self, run: subprocess.Popen[bytes]) -> None:
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(run.pid, signal.SIGKILL)
        run.wait()
        self._release(run)

    def _release(self, run: subprocess.Popen[bytes]) -> None:
        if run.stdout is not None:
            run.stdout.close()
        self._run = None


_libc = ctypes.CDLL(None)


def _end_with_recorder() -> None:
    """In the child: the kernel kills it when the recorder dies, however that happens."""
    _libc.prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
