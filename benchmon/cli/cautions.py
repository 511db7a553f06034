"""What must be said before a machine is loaded for the first time."""

from __future__ import annotations

import argparse
import os

from benchmon.cli.console import say
from benchmon.errors import BenchmonError
from benchmon.stream.store import sessions_folder

_MARKER = ".cautions-said"
CAUTIONS = (
    "Take care, before the first load on this account:",
    "Heatsinks, drives and supplies get hot and stay so; fans bite; keep fingers, hair and sleeves away.",
    "A wall meter and an open supply carry mains voltage: leave supplies closed, and mains wiring to the licensed.",
    "An old supply or a worn battery may fail under full load. Smell, smoke, crackling: pull the plug and stay away.",
    "Stay with the machine while it is loaded. More, and who to ask: docs/safety.md. This is said once.",
)


def caution_once(args: argparse.Namespace) -> None:
    """Say it if a load of the real machine is asked for, and it was not said to this user before."""
    if args.virtual is not None or not (args.load or args.steps or args.plan or args.command_line):
        return
    try:
        folder = sessions_folder()
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
        os.close(os.open(folder / _MARKER, flags, 0o600))
    except FileExistsError:
        return
    except (OSError, ValueError, BenchmonError):
        pass  # where it cannot be kept that it was said, it is said again
    for line in CAUTIONS:
        say(line)
