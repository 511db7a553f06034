"""``benchmon plans``: the written procedures, and what is wrong with one."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchmon.cli.console import write_text
from benchmon.errors import ExitCode, UsageError
from benchmon.plain_text import one_line
from benchmon.plans.reading import look_at
from benchmon.plans.shipped import find_plan, shipped_names, shipped_plan
from benchmon.stream.options import CommandChoice
from benchmon.stream.plan import steps_of
from benchmon.views.doors import terminal
from benchmon.views.words.plans import plan_lines

DESCRIPTION = """\
Plans are written procedures that watch, record and demo carry out with --plan: phases of load and idling,
each until a time is over or until something has settled. docs/plans.md says what may stand in one.

  benchmon plans                  the plans that ship, in words
  benchmon plans stair my.toml    these, in words
  benchmon plans check my.toml    line and reason of every mistake

A plan loads the machine, some for an hour: metal gets hot, so stay with it, and keep covers of supplies closed.
docs/safety.md has more.
"""
_CHECK = "check"
_SOME_CORES = 4
"""A stair is tried with so many cores when a plan is checked."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument(
        "words",
        nargs="*",
        metavar="NAME|FILE|check FILE",
        help="which plans to explain (default: all that ship), or the word check and the files to check",
    )


def run(args: argparse.Namespace) -> int:
    """Explain or check."""
    if args.words[:1] == [_CHECK]:
        return _check(args.words[1:])
    plans = [find_plan(word) for word in args.words] or [shipped_plan(name) for name in shipped_names()]
    write_text("\n\n".join(terminal("\n".join(plan_lines(plan))) for plan in plans) + "\n")
    return int(ExitCode.OK)


def _check(files: list[str]) -> int:
    if not files:
        raise UsageError("no file was named", "Write: benchmon plans check my-plan.toml")
    code = ExitCode.OK
    for file in files:
        complaints = _complaints(Path(file))
        for complaint in complaints:
            write_text(f"{one_line(file)}{complaint}\n")
        if complaints:
            code = ExitCode.USAGE
        else:
            write_text(f"{one_line(file)}: no mistakes\n")
    return int(code)


def _complaints(path: Path) -> list[str]:
    plan, mistakes = look_at(path, _SOME_CORES)
    if plan is None:
        return [
            f": {terminal(one.reason)}" if one.line is None else f", line {one.line}: {terminal(one.reason)}"
            for one in mistakes
        ]
    try:
        steps_of(plan, command=CommandChoice(("true",)))
    except UsageError as error:
        return [f": {terminal(error.message)}"]
    return []
