"""``benchmon pack``: make a session's file small."""

from __future__ import annotations

import argparse

from benchmon.cli.console import say, write_text
from benchmon.cli.progress import Progress
from benchmon.errors import ExitCode, UsageError
from benchmon.plain_text import one_line

DESCRIPTION = """\
Write a packed copy of a session beside it: a fifth of the size, in gzip, which every system opens.
Every command of benchmon reads packed sessions as they are, and can still enter things into them.
The session itself stays unless --remove is given; it goes only when the copy was read back whole.

  benchmon pack run                     makes run.session.jsonl.gz
  benchmon pack run --remove
  benchmon pack run --unpack            makes run.session.jsonl again
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("sessions", nargs="+", metavar="SESSION", help="file, or part of a session's name")
    parser.add_argument("--unpack", action="store_true", help="the other way round")
    parser.add_argument("--remove", action="store_true", help="afterwards remove what was packed or unpacked")


def run(args: argparse.Namespace) -> int:
    """Pack each, or unpack it."""
    from benchmon.session.packing import is_packed, pack, packed_path, unpack, unpacked_path
    from benchmon.stream.running import is_being_recorded
    from benchmon.stream.store import find_session

    code = ExitCode.OK
    for name in args.sessions:
        path = find_session(name)
        if is_packed(path) is not args.unpack:
            raise UsageError(f"{path.name} is {'not ' if args.unpack else ''}packed already")
        if is_being_recorded(path):
            raise UsageError(f"{path.name} is being recorded", "Wait until the recording is over.")
        to = unpacked_path(path) if args.unpack else packed_path(path)
        progress = Progress("Unpacking" if args.unpack else "Packing")
        is_whole = True
        if args.unpack:
            is_whole = unpack(path, to, progress)
        else:
            pack(path, to, progress)
        progress.done()
        if not is_whole:
            say(f"{path.name} is damaged; {to.name} holds what could be unpacked.")
            code = ExitCode.INPUT
        elif args.remove:
            path.unlink()
        write_text(f"{one_line(str(to))}\n")
    return int(code)
