"""``benchmon join``: a screen on a session that is being recorded."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchmon.cli.cautions import say_cautions
from benchmon.cli.screen import add_screen_arguments, check_screen, header_of, show_live
from benchmon.errors import NoSessionError

DESCRIPTION = """\
Open a screen on a session that is being recorded: after a dropped line, or from a second terminal.
Marks and readings entered here go into the same session.

  benchmon join              the newest session that is being recorded

A load can be started there with a key: metal gets hot, so stay with the machine. docs/safety.md has more.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("session", nargs="?", help="file, or part of its name (default: the newest being recorded)")
    add_screen_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Find the recording, follow it."""
    from benchmon.stream.privilege import drop_to_caller

    drop_to_caller()
    from benchmon.stream.running import is_being_recorded, running_sessions
    from benchmon.stream.store import find_session

    if args.session is not None:
        path = find_session(args.session)
        if not is_being_recorded(path):
            raise NoSessionError(f"Nobody is recording {path.name} any more.", f"To look at it: benchmon replay {path}")
        return _join(args, path)
    running = running_sessions()
    if not running:
        raise NoSessionError("No session is being recorded here.", "Start one with: benchmon watch")
    return _join(args, running[0].path)


def _join(args: argparse.Namespace, path: Path) -> int:
    """A key of the screen can start the first load of a recording that was begun without one."""
    check_screen(args)
    if not header_of(path).virtual:
        say_cautions(before_screen=True)
    return show_live(args, path)
