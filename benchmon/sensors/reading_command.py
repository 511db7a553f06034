"""A user's own command that prints a number: a wall meter, a room thermometer.

It never delays a sample: a small process of its own (``reading_runner.py``) runs the command again and again, and its
last answer is given while it is fresh. It comes from the command line only, never from a session file, and no shell is
involved. When the recorder ends, however that happens, the process ends the command and all that came from it.
"""

from __future__ import annotations

import contextlib
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

from benchmon.errors import UsageError
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.command_words import command_words
from benchmon.model.durations import seconds_of
from benchmon.model.units import Unit
from benchmon.model.usable import number_in
from benchmon.plain_text import one_line

DEFAULT_PERIOD_S = 2.0
SHORTEST_PERIOD_S = 0.5
STALE_AFTER_PERIODS = 3
_MOST_BYTES = 4096
_LONGEST_END_S = 2.0
_LONGEST_RUN_S = 10.0

_LABELS = {keys.WALL_POWER: "power at the wall", keys.ROOM_TEMP: "room temperature"}
_HINT = 'Write for example --reading "wall_w=/home/me/read-meter@2s"; the key ends in a unit: _w, _c, _rpm …'


Entrusting = Callable[[], AbstractContextManager[tuple[int, int]]]
"""Gives a brand and a descriptor for what is started inside: who looks after it if nobody else can (0, -1: nobody)."""


def _entrusted_to_nobody() -> AbstractContextManager[tuple[int, int]]:
    return contextlib.nullcontext((0, -1))


def parse_reading(text: str, entrusted: Entrusting = _entrusted_to_nobody) -> ReadingCommand:
    """``wall_w=COMMAND@2s`` → the sensor; without ``@…`` it runs every 2 s.

    Args:
        text: as the user wrote it.
        entrusted: who looks after what the command leaves behind.

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
    return ReadingCommand(key, unit, argv, period_s, entrusted)


def _unit_of(key: str) -> Unit | None:
    if not re.fullmatch(r"[a-z][a-z0-9_]*_[a-z_]+", key):
        return None
    fitting = [unit for unit in Unit if key.endswith("_" + unit.suffix)]
    return max(fitting, key=lambda unit: len(unit.suffix), default=None)


class ReadingCommand:
    """A sensor that has a command run again and again.

    Args:
        key: the channel's key.
        unit: the channel's unit.
        argv: command and arguments.
        period_s: time between starts [s].
        entrusted: who looks after what the command leaves behind.
    """

    def __init__(self, key: str, unit: Unit, argv: list[str], period_s: float, entrusted: Entrusting) -> None:
        self._entrusted = entrusted
        label = _LABELS.get(key, key.removesuffix("_" + unit.suffix).replace("_", " "))
        self.channels: tuple[Channel, ...] = (Channel(key, label, unit, f"command: {command_words(argv)}"),)
        self._argv = argv
        self._period_s = period_s
        self._longest_s = max(_LONGEST_RUN_S, period_s)
        self._run: subprocess.Popen[bytes] | None = None
        self._is_starting = False
        self._output = b""
        self._value: float | None = None
        self._value_s = 0.0
        self._why = "no answer yet"

    @property
    def pid(self) -> int | None:
        """The process that runs the command; None if there is none, -1 while it is being started."""
        run = self._run
        return run.pid if run is not None else -1 if self._is_starting else None

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """The latest answer; None before the first, after a failure, and when it is three periods old."""
        if self._run is None:
            self._start()
        else:
            self._collect(self._run, now_s)
        if self._value is not None and now_s - self._value_s > STALE_AFTER_PERIODS * self._period_s:
            self._fail(f"no new answer for {STALE_AFTER_PERIODS * self._period_s:g} s")
        return (self._value,)

    def why_not(self) -> tuple[str, ...]:
        """Why there is no value."""
        return ("" if self._value is not None else self._why,)

    def close(self) -> None:
        """End the command if it runs, and what came from it."""
        if self._run is None:
            return
        if self._run.stdin is not None:
            self._run.stdin.close()
        try:
            self._run.wait(_LONGEST_END_S)
        except subprocess.TimeoutExpired:
            self._run.kill()
            self._run.wait()
        if self._run.stdout is not None:
            self._run.stdout.close()
        self._run = None

    def _start(self) -> None:
        self._is_starting = True
        try:
            with self._entrusted() as (brand, holds):
                self._run = subprocess.Popen(
                    self._runner(brand, holds),
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    pass_fds=(holds,) if holds >= 0 else (),
                    start_new_session=True,
                )
        except OSError as error:
            self._fail(f"it cannot be run: {error.strerror or error}")
            return
        finally:
            self._is_starting = False
        if self._run.stdout is not None:
            os.set_blocking(self._run.stdout.fileno(), False)

    def _runner(self, brand: int, holds: int) -> list[str]:
        script = Path(__file__).with_name("reading_runner.py")
        numbers = map(str, (self._period_s, self._longest_s, brand, holds))
        return [sys.executable, "-I", "-S", str(script), *numbers, *self._argv]

    def _collect(self, run: subprocess.Popen[bytes], now_s: float) -> None:
        """Take the lines that have come: each is a number, or a word why there is none."""
        piece = None
        if run.stdout is not None:
            with contextlib.suppress(OSError):
                piece = run.stdout.read(_MOST_BYTES)
        *lines, self._output = (self._output + (piece or b""))[-_MOST_BYTES:].split(b"\n")
        for line in lines:
            kind, _, words = line.decode("utf-8", "replace").partition(" ")
            value = number_in(words) if kind == "value" else None
            if value is not None:
                self._value, self._value_s = value, now_s
            else:
                self._fail(one_line(words) if kind == "none" else f"{self._argv[0]} printed no number")
        if run.poll() is not None and not lines:
            self._fail("the process that runs it was ended from outside")

    def _fail(self, why: str) -> None:
        self._value, self._why = None, why
