"""Errors that end a command with one clear sentence, a hint and an exit code; never with a traceback."""

from __future__ import annotations

from enum import IntEnum
from typing import ClassVar

from benchmon.plain_text import one_line


class ExitCode(IntEnum):
    """How a command ended. The one list; ``docs/exit-codes.md`` repeats it and a test compares the two."""

    OK = 0
    """Everything that was asked for was done."""
    INTERNAL = 1
    """A fault in benchmon itself; the message says where the details were kept."""
    USAGE = 2
    """The command line cannot be understood or asks for something unknown."""
    INPUT = 3
    """A file given as input cannot be read, is not a session, or is of a newer version."""
    OUTPUT = 4
    """The session or sheet cannot be written: no permission, no room, or it exists already."""
    MACHINE = 5
    """The machine does not offer what was asked for, and nothing useful is left without it."""
    LOAD = 6
    """The load could not be started, or ended by itself with an error."""
    GUARD = 7
    """The guard stopped the load: too hot, or the temperature could no longer be read or believed."""
    TERMINAL = 8
    """The terminal cannot show the screen (too small, or not a terminal)."""
    NO_SESSION = 9
    """There is no session to join, replay or make a sheet of, or nobody is recording it."""
    THROTTLED = 10
    """Only with ``--fail-if-throttled``: the session holds a throttle event."""


class BenchmonError(Exception):
    """A user's mistake or a machine's fault, in words.

    Args:
        message: one sentence that says what is wrong, with the name of the thing.
        hint: what to do about it, one sentence; empty when there is nothing useful to say.
    """

    exit_code: ClassVar[ExitCode] = ExitCode.INTERNAL

    def __init__(self, message: str, hint: str = "") -> None:
        self.message = one_line(message)
        self.hint = one_line(hint)
        super().__init__(self.message)


class UsageError(BenchmonError):
    """The command line asks for something that cannot be understood."""

    exit_code = ExitCode.USAGE


class SessionFormatError(BenchmonError):
    """A file is not a session this version can read. The only error that leaves the session reader."""

    exit_code = ExitCode.INPUT


class InputError(BenchmonError):
    """An input file cannot be opened or makes no sense (tables to import, for example)."""

    exit_code = ExitCode.INPUT


class OutputError(BenchmonError):
    """Something cannot be written."""

    exit_code = ExitCode.OUTPUT


class MachineError(BenchmonError):
    """The machine does not offer what is needed."""

    exit_code = ExitCode.MACHINE


class LoadError(BenchmonError):
    """The load cannot be started."""

    exit_code = ExitCode.LOAD


class TerminalError(BenchmonError):
    """The terminal cannot show the screen."""

    exit_code = ExitCode.TERMINAL


class NoSessionError(BenchmonError):
    """No session fits what was asked for, or nobody is recording it."""

    exit_code = ExitCode.NO_SESSION
