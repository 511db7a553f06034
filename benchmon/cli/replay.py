"""``benchmon replay``: the screen over a stored session."""

from __future__ import annotations

import argparse

from benchmon.cli.screen import add_screen_arguments, comparison, screen_options
from benchmon.cli.values import number_between
from benchmon.errors import ExitCode

DESCRIPTION = """\
Show a stored session on the same screen, as it looked live: at 1x to 60x, paused, forwards and back,
or from event to event.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("session", nargs="?", help="file, or part of a session's name (default: the newest)")
    parser.add_argument(
        "--speed",
        type=number_between(1, 60, "x"),
        default=10.0,
        metavar="N",
        help="1 to 60 times as fast (default 10)",
    )
    add_screen_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Read the session, play it."""
    from benchmon.stream.privilege import drop_to_caller

    drop_to_caller()
    from benchmon.cli.chosen import chosen_session
    from benchmon.cli.later import enter_later
    from benchmon.session.reader import StoredSession
    from benchmon.stream.replay import Replay
    from benchmon.stream.source import ReplaySource

    path = chosen_session(args.session)
    options = screen_options(args)
    replay = Replay(StoredSession(path), speed=args.speed)
    from benchmon.views.tui.app import run_screen

    source = ReplaySource(replay, title=path.name)
    later = enter_later(path)
    run_screen(
        source, control=None, enter_later=later, compare=comparison(args), title=path.name, replay=replay, **options
    )
    return int(ExitCode.OK)
