"""Whether this machine is ready for a recording: on its own, and before a plan begins."""

from __future__ import annotations

import argparse

from benchmon.cli.console import say, write_text
from benchmon.errors import ExitCode, MachineError
from benchmon.model.obstacle import Obstacle
from benchmon.sensors.readiness import ended_s_ago, obstacles
from benchmon.stream.store import sessions_folder, stored_sessions
from benchmon.views.doors import terminal


def run_ready(args: argparse.Namespace) -> int:
    """Say what is in the way; exit code 0 if nothing is."""
    found = _look(args)
    for one in found:
        write_text(f"{terminal(one.what)}\n    {terminal(one.effect)}\n")
    if not found:
        write_text("Ready: nothing seems to be in the way of a good recording.\n")
    return int(ExitCode.MACHINE if found else ExitCode.OK)


def before_recording(args: argparse.Namespace) -> tuple[Obstacle, ...]:
    """Look before a plan begins; warned of, or refused with ``--strict``.

    Raises:
        MachineError: with ``--strict``, if anything is in the way.
    """
    planned = args.plan is not None or args.resume is not None
    if args.virtual is not None or not (args.strict or planned):
        return ()
    found = _look(args)
    if found and args.strict:
        raise MachineError(
            f"not ready: {'; '.join(one.what for one in found)}",
            "See what each would do to the result with: benchmon channels --ready. Without --strict it is only noted.",
        )
    if not args.quiet:
        for one in found:
            say(f"before it begins: {one.what}: {one.effect}")
    return found


def _look(args: argparse.Namespace) -> tuple[Obstacle, ...]:
    newest = next(iter(stored_sessions()), None)
    return obstacles(args.root, sessions_folder(), ended_s_ago(newest))
