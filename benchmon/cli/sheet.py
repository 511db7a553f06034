"""``benchmon sheet``: the sheet of a session."""

from __future__ import annotations

import argparse
import gc
from pathlib import Path
from typing import TYPE_CHECKING

from benchmon.analysis.thermal.criteria import CRITERIA
from benchmon.cli.console import say, write_text
from benchmon.cli.progress import Progress
from benchmon.cli.values import new_file, number_between
from benchmon.errors import ExitCode, UsageError
from benchmon.views.new_files import write_new

if TYPE_CHECKING:
    from benchmon.library.answers import Answer
    from benchmon.model.findings import Summary
    from benchmon.session.reader import StoredSession

DESCRIPTION = """\
Print the sheet of a session: the machine, the tags, the phases with their figures, the throttle
events with cause and evidence, and the thermal verdict with its uncertainty.

  benchmon sheet                                    the newest session
  benchmon sheet run.session.jsonl --format markdown --output run.md
  benchmon sheet run --format json | some-program
  benchmon sheet run --format html --output run.html   one page with traces, to be shown or printed
"""
_FORMATS = {"text": "text", "markdown": "markdown", "csv": "table_csv", "json": "document_json"}
"""Format → its module; only the one that is asked for is loaded, and none for an answer that was kept."""

_COLLECT_AFTER = 50_000
"""New objects. Records hold no cycles: to look for some after each 700 costs some 5 µs a sample."""
_NOT_ASKED = {"run", "session", "output", "format", "json", "fail_if_throttled", "command_line", "decimal_comma"}
"""Arguments on which the text does not depend."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("session", nargs="?", help="file, or part of a session's name (default: the newest)")
    parser.add_argument("--format", choices=(*_FORMATS, "html"), help="text (default), markdown, csv, json or html")
    parser.add_argument("--json", action="store_const", dest="format", const="json", help="the same as --format json")
    parser.add_argument("--output", type=new_file, metavar="FILE", help="write to a new file instead of the terminal")
    parser.add_argument(
        "--forecasts",
        action="store_true",
        help="in JSON, also what the screen forecast while it ran; takes many times as long",
    )
    parser.add_argument(
        "--decimal-comma", action="store_true", help="csv: 12,5 and semicolons, for spreadsheets that expect them"
    )
    add_analysis_arguments(parser)
    parser.add_argument(
        "--fail-if-throttled", action="store_true", help=f"exit with {int(ExitCode.THROTTLED)} if there is an event"
    )


def add_analysis_arguments(parser: argparse.ArgumentParser) -> None:
    """What the analysis may be told: room, limit."""
    parser.add_argument(
        "--ambient",
        type=number_between(-40, 60, "C"),
        metavar="C",
        help="room temperature to predict for [°C] (default: the room of the run)",
    )
    parser.add_argument(
        "--criterion",
        choices=tuple(CRITERIA),
        default="iec62368",
        help="when a temperature counts as settled; docs/method.md explains them (default iec62368)",
    )
    parser.add_argument(
        "--limit",
        type=number_between(30, 125, "C"),
        metavar="C",
        help="limit temperature [°C] in place of the sensors",
    )


def run(args: argparse.Namespace) -> int:
    """Look whether it was worked out before; else read, summarise; print."""
    from benchmon.cli.chosen import chosen_session
    from benchmon.library.answers import kept_answer
    from benchmon.library.cache import Cache

    form = args.format or "text"
    if args.forecasts and form != "json":
        raise UsageError("only the sheet as JSON holds forecasts", "Add --json, or leave --forecasts out.")
    refuse_decimal_comma(args)
    path = chosen_session(args.session)
    _refuse_what_is_no_session(path)
    asked = {"sheet": form} | {name: told for name, told in vars(args).items() if name not in _NOT_ASKED}
    answer = kept_answer(Cache(say), path, asked, lambda: _answer(args, path, form))
    print_or_write(args, answer.text)
    return int(ExitCode.THROTTLED if args.fail_if_throttled and answer.is_throttled else ExitCode.OK)


def refuse_decimal_comma(args: argparse.Namespace) -> None:
    """Only a table of bare numbers can have them written in another way.

    Raises:
        UsageError: if another format is asked for.
    """
    if args.decimal_comma and args.format != "csv":
        raise UsageError("only the table as CSV can have decimal commas", "Add: --format csv")


def print_or_write(args: argparse.Namespace, text: str) -> None:
    """A sheet goes to the terminal or into a new file."""
    if args.decimal_comma:
        from benchmon.views.sheets.decimal_comma import with_decimal_comma

        text = with_decimal_comma(text)
    if args.output is None:
        write_text(text)
    else:
        write_new(args.output, text)


def _refuse_what_is_no_session(path: Path) -> None:
    """By its first lines: a stranger's file as large as the disk need not be gone through for that."""
    from benchmon.session.reader import Passage

    next(Passage(path, without_samples=True).blocks(), None)


def _answer(args: argparse.Namespace, path: Path, form: str) -> Answer:
    from importlib import import_module

    from benchmon.library.answers import Answer

    session, summary = session_and_summary(args, path, with_forecasts=args.forecasts)
    if form == "html":
        from benchmon.views.figures.page import render_page

        return Answer(render_page(session, summary), bool(summary.events))
    text = import_module(f"benchmon.views.sheets.{_FORMATS[form]}").render(summary)
    return Answer(text, bool(summary.events))


def summary_of(args: argparse.Namespace, path: Path, part_watts: float | None = None) -> Summary:
    """What can be concluded from a session, without forecasts; arguments as for ``session_and_summary``."""
    return session_and_summary(args, path, part_watts)[1]


def session_and_summary(
    args: argparse.Namespace, path: Path, part_watts: float | None = None, *, with_forecasts: bool = False
) -> tuple[StoredSession, Summary]:
    """Go through the session and conclude what can be concluded.

    Args:
        args: limit, room and criterion that a person gave.
        path: the session.
        part_watts: power of a part in question [W].
        with_forecasts: also what the screen foretold while it ran, which takes far longer than all the rest.
    """
    from benchmon.analysis.live import LOOK_EVERY_S
    from benchmon.analysis.options import AnalysisOptions
    from benchmon.analysis.summary import NO_LOOKS_S, summarise
    from benchmon.session.reader import StoredSession

    gc.set_threshold(_COLLECT_AFTER)
    progress = Progress("Reading the session")
    try:
        session = StoredSession(path, progress)
        return session, summarise(
            session,
            AnalysisOptions(limit_c=args.limit, room_c=args.ambient, criterion=args.criterion, part_watts=part_watts),
            look_every_s=LOOK_EVERY_S if with_forecasts else NO_LOOKS_S,
        )
    finally:
        progress.done()
