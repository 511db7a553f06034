"""``benchmon join``: a screen on a session that is being recorded."""

from __future__ import annotations

import argparse

from benchmon.cli.screen import add_screen_arguments, show_live
from benchmon.errors import NoSessionError

DESCRIPTION = """\
Open a screen on a session that is being recorded: after a dropped line, or from a second terminal.
Marks and readings entered here go into the same session.

  benchmon join              the newest session that is being recorded
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("session", nargs="?", help="file, or part of its name (default: the newest being recorded)")
    add_screen_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Find the recording, follow it."""
    from benchmon.stream.privilege import drop_to_caller

    drop_to_caller()
    from benchmon.stream.store import find_session, is_being_recorded, running_sessions

    if args.session is not None:
        path = find_session(args.session)
        if not is_being_recorded(path):
            raise NoSessionError(f"Nobody is recording {path.name} any more.", f"To look at it: benchmon replay {path}")
        return show_live(args, path)
    running = running_sessions()
    if not running:
        raise NoSessionError("No session is being recorded here.", "Start one with: benchmon watch")
    return show_live(args, running[0].path)
