"""What must be said before a machine is loaded for the first time."""

from __future__ import annotations

import argparse
import contextlib
import os
import select
import sys

from benchmon.cli.console import say
from benchmon.cli.screen import has_terminal
from benchmon.errors import BenchmonError
from benchmon.stream.privilege import as_caller
from benchmon.stream.store import sessions_folder

_MARKER = ".cautions-said"
READING_S = 8.0
CAUTIONS = (
    "Take care, before the first load on this account:",
    "Heatsinks, drives and supplies get hot and stay so; fans bite; keep fingers, hair and sleeves away.",
    "A wall meter and an open supply carry mains voltage: leave supplies closed, and mains wiring to the licensed.",
    "An old supply or a worn battery may fail under full load. Smell, smoke, crackling: pull the plug and stay away.",
    "Stay with the machine while it is loaded. More, and who to ask: docs/safety.md. This is said once.",
)


def caution_once(args: argparse.Namespace, *, before_screen: bool = False) -> None:
    """Say it if the real machine may be loaded, and it was not said to this user before.

    Args:
        args: of a command that records.
        before_screen: a screen follows, which can start a load by a key and covers what was said: time to read.
    """
    if args.virtual is None and (before_screen or wants_load(args)):
        say_cautions(before_screen=before_screen)


def say_cautions(*, before_screen: bool) -> None:
    """Say it, if it was not said to this user before; before a screen with time to read it."""
    with as_caller():
        was_said = _was_said()
    if was_said:
        return
    for line in CAUTIONS:
        say(line)
    if before_screen:
        _let_read()


def _was_said() -> bool:
    """Whether it was said before; from now on it was, unless that cannot be kept: then it is said again."""
    try:
        folder = sessions_folder()
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if os.path.lexists(folder / _MARKER):
            return True
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
        os.close(os.open(folder / _MARKER, flags, 0o600))
    except (OSError, ValueError, BenchmonError):
        return False
    return False


def wants_load(args: argparse.Namespace) -> bool:
    """Whether a load is asked for, in whichever way."""
    return any(getattr(args, name, None) for name in ("load", "loads", "steps", "plan", "resume", "command_line"))


def _let_read() -> None:
    """Wait for Enter, but not for long; where nobody reads it or can press Enter, not at all."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        if has_terminal():
            say(f"The screen opens in {READING_S:g} s, or with Enter.")
            if select.select((sys.stdin,), (), (), READING_S)[0]:
                sys.stdin.readline()
