"""``benchmon compare``: did it help?"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from benchmon.cli.progress import Progress
from benchmon.cli.sheet import print_or_write, refuse_decimal_comma
from benchmon.cli.values import new_file, number_between
from benchmon.errors import ExitCode, UsageError

if TYPE_CHECKING:
    from benchmon.model.comparison import Comparison
    from benchmon.session.reader import StoredSession

DESCRIPTION = """\
Hold sessions against one another: did the change help, by how much, how sure
is that, and what would decide it. Two sessions are before and after. More are
put together by their tags: those with the same tags are repeats of one
configuration, and each other configuration is compared with the first.

  benchmon compare before after
  benchmon compare paste1 paste2 paste3 pad1 pad2 pad3
  benchmon compare before after --spread 1 --format markdown --output duct.md

Tags named run, repeat and pair only number the runs. Runs that carry the same
pair are held against one another pair by pair.
"""
_FORMATS = ("text", "markdown", "csv", "json", "html")
_MOST_SESSIONS = 100


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("sessions", nargs="+", metavar="SESSION", help="file, or part of a session's name; two or more")
    parser.add_argument("--format", choices=_FORMATS, help="text (default), markdown, csv, json or html")
    parser.add_argument("--json", action="store_const", dest="format", const="json", help="the same as --format json")
    parser.add_argument("--output", type=new_file, metavar="FILE", help="write to a new file instead of the terminal")
    parser.add_argument(
        "--decimal-comma", action="store_true", help="csv: 12,5 and semicolons, for spreadsheets that expect them"
    )
    parser.add_argument(
        "--spread",
        type=number_between(0, 50, "%"),
        metavar="PERCENT",
        help="how much the cooling of one configuration scatters from run to run, as a standard deviation [%%]: 0 where"
        " nothing was taken apart (default: 3, a cooler taken off and put back)",
    )


def run(args: argparse.Namespace) -> int:
    """Read, compare, print."""
    if not 2 <= len(args.sessions) <= _MOST_SESSIONS:
        raise UsageError(
            f"a comparison needs two sessions, and takes {_MOST_SESSIONS} at most",
            "Name the one before the change first: benchmon compare before after",
        )
    refuse_decimal_comma(args)
    comparison, runs = comparison_of(args.sessions, None if args.spread is None else args.spread / 100.0)
    text = _page(comparison, runs) if args.format == "html" else _rendered(comparison, args.format or "text")
    print_or_write(args, text)
    return int(ExitCode.OK)


def comparison_of(names: Sequence[str], spread: float | None) -> tuple[Comparison, list[StoredSession]]:
    """What comes of holding sessions against one another, and the sessions in the order they were named.

    Raises:
        UsageError: if they all carry the same tags.
    """
    from benchmon.analysis.compare.bench_run import bench_run
    from benchmon.analysis.compare.compare import compare
    from benchmon.session.naming import bare_name
    from benchmon.session.reader import StoredSession
    from benchmon.stream.store import find_session

    progress = Progress("Reading the sessions")
    sessions = [StoredSession(find_session(name), progress.part(place, len(names))) for place, name in enumerate(names)]
    try:
        runs = [bench_run(one, bare_name(one.path.name)) for one in sessions]
    finally:
        progress.done()
    comparison = compare(runs, spread)
    if not comparison.contrasts:
        raise UsageError(
            "all of these sessions carry the same tags, so there is nothing to hold them against",
            "Tag what changed (benchmon add SESSION --tag paste=new), or compare two of them.",
        )
    return comparison, sessions


def _page(comparison: Comparison, sessions: Sequence[StoredSession]) -> str:
    from benchmon.analysis.summary import NO_LOOKS_S, summarise
    from benchmon.views.figures.change_picture import change_picture
    from benchmon.views.figures.comparison_page import render_comparison_page

    change = None
    if len(sessions) == 2:
        before, after = ((one, summarise(one, look_every_s=NO_LOOKS_S)) for one in sessions)
        change = change_picture(comparison, before, after)
    return render_comparison_page(comparison, change)


def _rendered(comparison: Comparison, form: str) -> str:
    from importlib import import_module

    module = {"csv": "table_csv", "json": "document_json"}.get(form, form)
    text: str = import_module(f"benchmon.views.sheets.comparison.{module}").render(comparison)
    return text
