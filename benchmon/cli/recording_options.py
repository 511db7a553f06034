"""The options that ``watch`` and ``record`` share."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchmon.cli.command_options import add_command_arguments, command_arguments
from benchmon.cli.values import duration_between, filled, number_between, tag, whole_between
from benchmon.loads.guard import MOST_BELIEVED_C
from benchmon.model.box_parts import PARTS
from benchmon.model.work_kinds import WIDEST, WORK_KINDS

LONGEST_S = 31 * 86_400.0
"""No recording is asked to last longer than a month."""

EXAMPLES = """
Loads: the built-in work (--load), your own command (after --), a planned run (--steps), or none: start it elsewhere
and mark the phases. A keeper beside every load stops it when the processor gets hotter than --stop-at, when its
temperature is not read or cannot be true, when the recorder is gone or stands still, and after --for.

Hot metal, fans and mains can hurt: keep covers of supplies closed, and stay with the machine while it is loaded.
Smell, smoke or crackling: pull the plug and stay away. Root is never needed; docs/safety.md has more.
"""


def add_recording_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what is recorded, under which load, until when, and where to."""
    _add_load_arguments(parser)
    add_command_arguments(parser)
    _add_other_arguments(parser)


def _add_load_arguments(parser: argparse.ArgumentParser) -> None:
    load = parser.add_argument_group("load")
    load.add_argument(
        "--load",
        type=filled,
        metavar="all|one|N",
        help='keep all, one or N cores busy with the built-in work; also "all memory", "4 at 50 %%"',
    )
    load.add_argument(
        "--work",
        choices=WORK_KINDS,
        metavar="KIND",
        default=WIDEST,
        help="widest (widest arithmetic, the default: hot), scalar, whole (whole numbers), memory, or mixture",
    )
    _add_plan_arguments(load)
    load.add_argument(
        "--stop-at",
        type=number_between(30, MOST_BELIEVED_C, "C"),
        metavar="C",
        help="stop the load above this temperature [°C] (default: 3 K above the machine's limit, else 100)",
    )
    load.add_argument(
        "--for",
        dest="for_s",
        type=duration_between(0.0, LONGEST_S),
        metavar="TIME",
        help="end after this time: 90s, 10m, 1h",
    )


def _add_plan_arguments(load: argparse._ArgumentGroup) -> None:
    load.add_argument(
        "--steps",
        type=filled,
        metavar="PLAN",
        help="a planned run: idle:10m,one:10m,all:15m,idle:12m; each step is a marked phase. Your own command (after "
        "--) is the step command (once, to its end), command x3 or command:10m (again and again); else the last step",
    )
    load.add_argument(
        "--plan",
        type=filled,
        metavar="NAME|FILE",
        help="a written procedure: one that ships (benchmon plans lists them) or a file of yours",
    )
    load.add_argument(
        "--resume",
        type=filled,
        metavar="SESSION",
        help="go on with the plan of a session that was interrupted, at the phase it was in, in a new session",
    )
    load.add_argument(
        "--strict",
        action="store_true",
        help="refuse where anything is in the way of a good recording (benchmon channels --ready says what)",
    )


def _add_other_arguments(parser: argparse.ArgumentParser) -> None:
    what = parser.add_argument_group("what is recorded")
    what.add_argument(
        "--every",
        type=duration_between(0.1, 10.0),
        default=0.5,
        metavar="TIME",
        help="time between samples, 0.1s to 10s (default 0.5s)",
    )
    what.add_argument("--room", type=number_between(-40, 60, "C"), metavar="C", help="room temperature now [°C]")
    what.add_argument(
        "--tag", type=tag, action="append", default=[], metavar="KEY=VALUE", help="what is special: duct=fitted"
    )
    what.add_argument(
        "--box",
        type=Path,
        metavar="FILE",
        help=f"what the box is made of, in TOML: {', '.join(PARTS)}; kept for this machine, so once is enough",
    )
    what.add_argument(
        "--reading",
        action="append",
        default=[],
        metavar="KEY=COMMAND@TIME",
        help='a command of yours that prints a number: --reading "wall_w=read-my-meter@2s" (keys: wall_w, room_c, …)',
    )
    where = parser.add_argument_group("where to")
    where.add_argument("--to", type=Path, metavar="PATH", help="folder or new file (default: your sessions folder)")
    where.add_argument("--root", type=Path, default=Path("/"), help=argparse.SUPPRESS)
    where.add_argument("--virtual", type=whole_between(0, 2**31), metavar="SEED", help=argparse.SUPPRESS)
    where.add_argument("--chapter", help=argparse.SUPPRESS)
    where.add_argument("--speed", type=number_between(0.01, 1e6, "x"), default=1.0, help=argparse.SUPPRESS)


def recorder_arguments(args: argparse.Namespace) -> list[str]:
    """The same options again, as arguments for ``benchmon record`` in a process of its own."""
    words: list[str] = ["--every", f"{args.every}s", "--work", args.work]
    for name, value in (
        ("--load", args.load),
        ("--steps", args.steps),
        ("--plan", args.plan),
        ("--resume", args.resume),
        ("--stop-at", args.stop_at),
        ("--for", None if args.for_s is None else f"{args.for_s}s"),
        ("--room", args.room),
        ("--box", args.box),
        ("--to", args.to),
        ("--virtual", args.virtual),
        ("--chapter", args.chapter),
    ):
        if value is not None:
            words.append(f"{name}={value}")
    if args.strict:
        words.append("--strict")
    for key, value in args.tag:
        words.append(f"--tag={key}={value}")
    words += [f"--reading={reading}" for reading in args.reading]
    words += command_arguments(args)
    words += ["--root", str(args.root), "--speed", f"{args.speed}"]
    if args.command_line is not None:
        words += ["--", *args.command_line]
    return words
