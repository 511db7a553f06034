"""What the commands that show the screen share: its options, and following a recording."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchmon.cli.console import write_text
from benchmon.errors import ExitCode, TerminalError
from benchmon.model.records import SessionHeader
from benchmon.plain_text import one_line

if TYPE_CHECKING:
    from benchmon.session.reader import StoredSession


def add_screen_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare how the screen is drawn and what lies behind its traces."""
    screen = parser.add_argument_group("screen")
    screen.add_argument("--behind", metavar="SESSION", help="an earlier session, drawn dashed behind the traces")
    screen.add_argument("--calm", action="store_true", help="draw once a second instead of twice")
    screen.add_argument("--ascii", action="store_true", help="draw with plain ASCII signs only")


def screen_options(args: argparse.Namespace) -> dict[str, Any]:
    """Keyword arguments of ``run_screen``.

    Raises:
        TerminalError: if there is no terminal to draw on.
    """
    if not has_terminal():
        raise TerminalError(
            "There is no terminal to draw the screen on.", "Without one, use: benchmon record, or benchmon sheet."
        )
    return {"refresh_hz": 1.0 if args.calm else 2.0, "ascii_only": True if args.ascii else None}


def has_terminal() -> bool:
    """Whether keys can be read and a screen drawn; the toolkit draws on standard error."""
    return sys.stdin.isatty() and sys.stdout.isatty() and sys.stderr.isatty()


def comparison(args: argparse.Namespace) -> StoredSession | None:
    """The session to draw behind; None if none was asked for."""
    if args.behind is None:
        return None
    from benchmon.session.reader import StoredSession
    from benchmon.stream.store import find_session

    return StoredSession(find_session(args.behind))


def header_of(path: Path) -> SessionHeader:
    """The header of a session that is perhaps still being written."""
    from benchmon.session.glimpse import glimpse

    return glimpse(path).header


def check_screen(args: argparse.Namespace) -> None:
    """Refuse what the screen cannot show before anything is recorded or loaded.

    Raises:
        TerminalError: if there is no terminal to draw on.
        BenchmonError: if the session to draw behind cannot be had.
    """
    screen_options(args)
    comparison(args)


def show_live(args: argparse.Namespace, path: Path) -> int:
    """Follow a recording until the user leaves; say what goes on and where the file is."""
    options = screen_options(args)
    behind = comparison(args)
    from benchmon.cli.later import enter_later
    from benchmon.session.glimpse import glimpse
    from benchmon.stream.control import ControlClient
    from benchmon.stream.source import FollowSource
    from benchmon.views.tui.app import run_screen
    from benchmon.views.tui.leaving import Leaving

    client = ControlClient(header_of(path).session_id)
    outcome = run_screen(
        FollowSource(path),
        control=client.send,
        enter_later=enter_later(path),
        compare=behind,
        title=path.name,
        replay=None,
        **options,
    )
    name = one_line(str(path))
    if outcome.recording_goes_on:
        write_text(f"The recording goes on: {name}\n  back to it:  benchmon join {name}\n")
    else:
        if outcome.leaving is Leaving.SESSION_OVER and glimpse(path).end is None:
            write_text("Nobody is recording any more, and the session has no end. What was written is kept.\n")
        write_text(f"Session: {name}\n  its sheet:  benchmon sheet {name}\n")
    return int(ExitCode.OK)
