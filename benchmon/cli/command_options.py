"""The options about a person's own command: how it is run, and what is read from its output."""

from __future__ import annotations

import argparse
import contextlib
import re
from dataclasses import replace

from benchmon.loads.cores import cpu_list
from benchmon.model.patterns import MOST_LETTERS, pattern_fault
from benchmon.stream.options import CommandChoice

_MOST_CORES = 4096


def add_command_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare them."""
    own = parser.add_argument_group("your own command (after --, or named while recording)")
    own.add_argument(
        "--command-cores", type=_cores, metavar="LIST", help="logical processors it may use: 0-3,6 (default: all)"
    )
    own.add_argument(
        "--score-from",
        type=_score_pattern,
        action="append",
        default=[],
        metavar="PATTERN",
        help="read its scores: --score-from 'Multi.*: (\\d+) pts'; the group is the number",
    )
    own.add_argument(
        "--phase-from",
        type=_pattern,
        action="append",
        default=[],
        metavar="PATTERN",
        help="a line of its output that fits begins a phase, named by the group: --phase-from 'Running (.*) test'",
    )
    own.add_argument("--version-from", type=_pattern, metavar="PATTERN", help="keep the line that tells its version")


def chosen_command(args: argparse.Namespace) -> CommandChoice | None:
    """The command after ``--``, with the options that speak of it; None if there is none."""
    return replace(named_later(args), argv=tuple(args.command_line)) if args.command_line else None


def named_later(args: argparse.Namespace) -> CommandChoice:
    """How a command is run and read that is named while recording."""
    return CommandChoice(
        (),
        cores=args.command_cores,
        phases=tuple(args.phase_from),
        score_from=tuple(args.score_from),
        version_from=args.version_from or "",
    )


def command_arguments(args: argparse.Namespace) -> list[str]:
    """The same options again, for a recorder of its own."""
    words = [f"--score-from={pattern}" for pattern in args.score_from]
    words += [f"--phase-from={pattern}" for pattern in args.phase_from]
    if args.version_from:
        words.append(f"--version-from={args.version_from}")
    if args.command_cores is not None:
        words.append(f"--command-cores={','.join(map(str, args.command_cores))}")
    return words


def _pattern(text: str, *, has_number: bool = False) -> str:
    fault = pattern_fault(text, has_number=has_number)
    if fault:
        raise argparse.ArgumentTypeError(fault)
    return text


def _score_pattern(text: str) -> str:
    return _pattern(text, has_number=True)


def _cores(text: str) -> tuple[int, ...]:
    cores: tuple[int, ...] = ()
    if all(int(number) < _MOST_CORES for number in re.findall(r"\d+", text[:MOST_LETTERS])):
        with contextlib.suppress(ValueError):
            cores = tuple(sorted(set(cpu_list(text[:MOST_LETTERS]))))
    if not cores or cores[0] < 0:
        raise argparse.ArgumentTypeError(f"{text[:60]!r} is no list of logical processors; write for example 0-3,6")
    return cores
