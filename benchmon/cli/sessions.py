"""``benchmon sessions``: all sessions that there are, a line each."""

from __future__ import annotations

import argparse
import gc
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from benchmon.cli.console import say, terminal_width, write_text
from benchmon.cli.progress import Progress
from benchmon.errors import ExitCode, NoSessionError, UsageError
from benchmon.plain_text import one_line

if TYPE_CHECKING:
    from benchmon.library.index import Index, Listed
    from benchmon.library.listing import Wanted

DESCRIPTION = """\
List sessions, a line each: when, how long, what throttled the processor, how many watts the cooler
sustains, the machine, its tags and phases, and the name by which every other command finds it.

  benchmon sessions                                  those in your own folder
  benchmon sessions /srv/bench /mnt/stick            those in other folders, and below
  benchmon sessions --with-tag paste=fresh --throttled-by heat --sort sustains
  benchmon sessions --work-out                       work out what no one has looked at yet

What was found is kept in a cache that may be deleted at any time. “?” stands for what was not worked
out yet: it takes a fraction of a second a session, and --work-out does it for all.
"""
_COLLECT_AFTER = 50_000
"""New objects. What is listed holds no cycles: to look for some after each 700 takes a tenth of the time."""
_CAUSES = ("heat", "power", "outside", "unexplained", "nothing")
_SORTS = ("when", "machine", "length", "sustains")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument(
        "folders", nargs="*", type=Path, metavar="FOLDER", help="where to look, and below (default: your sessions)"
    )
    add_choice(parser)
    parser.add_argument("--sort", choices=_SORTS, default="when", help="by what, the greatest or latest first")
    parser.add_argument(
        "--work-out", action="store_true", help="work out what throttled each, and what its cooler sustains"
    )
    parser.add_argument("--json", action="store_true", help="for programs")


def add_choice(parser: argparse.ArgumentParser) -> None:
    """Declare what sessions may be chosen by."""
    choice = parser.add_argument_group("which sessions, by what they are")
    choice.add_argument(
        "--with-tag",
        type=_tag,
        action="append",
        default=[],
        metavar="KEY[=VALUE]",
        help="with this tag (may be repeated)",
    )
    choice.add_argument("--machine", default="", metavar="TEXT", help="whose machine's name contains this")
    choice.add_argument("--since", type=_day, metavar="DAY", help="recorded on this day or later: 2026-11-25")
    choice.add_argument("--until", type=_day, metavar="DAY", help="recorded on this day or before")
    choice.add_argument(
        "--throttled-by", dest="held_back_by", choices=_CAUSES, default="", help="in which this throttled the processor"
    )


def run(args: argparse.Namespace) -> int:
    """Find them, choose, print."""
    from benchmon.library.cache import Cache
    from benchmon.library.index import WORKED_ON_THE_WAY, Index
    from benchmon.library.listing import SORTS, document, names_of, table, why_none_fits
    from benchmon.stream.store import sessions_folder

    gc.set_threshold(_COLLECT_AFTER)
    index = Index(Cache(say), say)
    folders = args.folders or [sessions_folder()]
    everything = _looked_up(index, [folder for folder in folders if args.folders or folder.exists()])
    wanted = wanted_of(args)
    chosen = [one for one in everything if wanted.fits(one)]
    open_ones = [one for one in chosen if one.worked_out is None and not one.facts.problem]
    if args.work_out or len(open_ones) <= WORKED_ON_THE_WAY:
        _work_out(index, open_ones)
        open_ones = []
    chosen = [one for one in chosen if wanted.fits_cause(one)]
    if args.sort != "when":
        chosen.sort(key=SORTS[args.sort], reverse=args.sort != "machine")
    names = names_of(everything, sessions_folder())
    if args.json:
        write_text(document(chosen, names))
    elif chosen:
        write_text(table(chosen, names, terminal_width()) + "\n")
    else:
        where = ", ".join(one_line(str(folder)) for folder in folders)
        said = f"No session in {where} fits." if everything else f"No session was found in {where}."
        say(said, why_none_fits(wanted, everything))
    if open_ones:
        missing = "not among these: " if wanted.held_back_by else ""
        say(f"{missing}{len(open_ones)} sessions were not worked out yet.", "benchmon sessions --work-out does that.")
    return int(ExitCode.INPUT if index.missed_folders else ExitCode.OK)


def _looked_up(index: Index, folders: list[Path]) -> list[Listed]:
    progress = Progress("Looking through the sessions")
    try:
        return index.sessions(folders, progress)
    finally:
        progress.done()


def _work_out(index: Index, sessions: list[Listed]) -> None:
    progress = Progress("Working out")
    try:
        index.work_out(sessions, progress)
    finally:
        progress.done()


def wanted_of(args: argparse.Namespace) -> Wanted:
    """What the arguments of ``add_choice`` ask for."""
    from benchmon.library.listing import Wanted

    return Wanted(tuple(args.with_tag), args.machine, args.since, args.until, args.held_back_by)


def chosen_by_facts(args: argparse.Namespace, *, takes_all: bool = False) -> list[Path] | None:
    """The sessions of this user's folder that fit what was asked.

    Args:
        args: those of ``add_choice``, and ``sessions`` that were named.
        takes_all: broken ones apart, all of them, if nothing more is asked.

    Returns:
        Their files; None if nothing was asked.

    Raises:
        UsageError: if sessions were named as well.
        NoSessionError: if none fits.
    """
    from benchmon.library.cache import Cache
    from benchmon.library.index import Index
    from benchmon.library.listing import Wanted, why_none_fits
    from benchmon.stream.store import sessions_folder

    wanted = wanted_of(args)
    if wanted == Wanted() and not takes_all:
        return None
    if args.sessions:
        raise UsageError("sessions were both named and described", "Do one of the two.")
    index = Index(Cache(say), say)
    everything = _looked_up(index, [sessions_folder()])
    fitting = [one for one in everything if wanted.fits(one) and not one.facts.problem]
    if wanted.held_back_by:
        _work_out(index, fitting)
    paths = [one.path for one in fitting if wanted.fits_cause(one)]
    if not paths:
        hint = why_none_fits(wanted, everything) or "benchmon sessions lists them all."
        raise NoSessionError(f"No session in {sessions_folder()} fits.", hint)
    return paths


def _tag(text: str) -> tuple[str, str | None]:
    key, sign, value = text.partition("=")
    if not key.strip():
        raise argparse.ArgumentTypeError(f"{text[:60]!r} is no tag; write key or key=value")
    return key.strip(), one_line(value) if sign else None


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text[:40]!r} is no day; write it like 2026-11-25") from None
