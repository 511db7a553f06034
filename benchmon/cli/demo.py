"""``benchmon demo``: a scripted run on the virtual bench."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchmon.cli.console import write_text
from benchmon.cli.screen import add_screen_arguments, check_screen, has_terminal, show_live
from benchmon.cli.values import number_between, whole_between
from benchmon.errors import ExitCode
from benchmon.plain_text import one_line
from benchmon.virtual_bench.demo import BOUGHT, CHAPTERS

DESCRIPTION = """\
Show a whole run on the virtual bench: idle, one core, all cores until it throttles, cool-down. The
machine does not exist; its sensors are files, read by the same code as real ones. Time runs faster
than real; the screen says so. Without a terminal the run goes without a screen and ends with its sheet.

  benchmon demo                                  a small box as it was bought
  benchmon demo --chapter duct --behind SESSION  with an air duct, over the run before
  benchmon demo --chapter warm                   the same in a warmer room
"""
_SPEED_WITH_SCREEN = 20.0
_SPEED_WITHOUT = 60.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument(
        "--seed",
        type=whole_between(0, 2**31),
        default=1,
        metavar="N",
        help="another number: another cooler and other noise",
    )
    parser.add_argument(
        "--chapter",
        choices=tuple(CHAPTERS),
        default=BOUGHT,
        help="of the box's story: " + ", ".join(f"{name} = {one.words}" for name, one in CHAPTERS.items()),
    )
    parser.add_argument(
        "--speed",
        type=number_between(1, 60, "x"),
        metavar="N",
        help="1 to 60 times real time (default 20; 60 without a screen)",
    )
    parser.add_argument("--plan", metavar="NAME|FILE", help="carry out this plan instead of the story")
    parser.add_argument("--to", type=Path, metavar="PATH", help="folder or new file (default: your sessions folder)")
    parser.add_argument("--no-screen", action="store_true", help="lines and sheet only, as without a terminal")
    add_screen_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Run it with a screen where there is a terminal, else with lines and the sheet."""
    with_screen = has_terminal() and not args.no_screen
    speed = args.speed or (_SPEED_WITH_SCREEN if with_screen else _SPEED_WITHOUT)
    words = [f"--virtual={args.seed}", f"--chapter={args.chapter}", f"--speed={speed}", "--every=0.5s"]
    words += [f"--tag={key}={value}" for key, value in CHAPTERS[args.chapter].tags.items()]
    if args.plan is not None:
        words.append(f"--plan={args.plan}")
    if args.to is not None:
        words.append(f"--to={args.to}")
    if with_screen:
        check_screen(args)
        from benchmon.stream.live import start_recorder

        return show_live(args, start_recorder(words).path)
    return without_screen(words if args.behind is None else [*words, f"--behind={args.behind}"])


def without_screen(words: list[str]) -> int:
    """Record the demo with lines, then print its sheet; ``words`` are those of ``record``."""
    from benchmon.cli import record, sheet

    parser = argparse.ArgumentParser()
    record.add_arguments(parser)
    args = parser.parse_args([*words, "--lines-every=10s"])
    args.command_line = None
    path, code = record.record_here(args)
    if code not in (ExitCode.OK, ExitCode.GUARD):
        return int(code)
    write_text("\n")
    sheet_parser = argparse.ArgumentParser()
    sheet.add_arguments(sheet_parser)
    sheet.run(sheet_parser.parse_args([str(path)]))
    write_text(f"\nSession: {one_line(str(path))}\n")
    return int(code)
