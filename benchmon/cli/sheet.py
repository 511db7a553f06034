"""``benchmon sheet``: the sheet of a session."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.summary import summarise
from benchmon.analysis.thermal.settling import CRITERIA
from benchmon.cli.chosen import chosen_session
from benchmon.cli.console import write_text
from benchmon.cli.values import new_file, number_between
from benchmon.errors import ExitCode, OutputError
from benchmon.model.findings import Summary
from benchmon.session.reader import read_session
from benchmon.views.sheets import document_json, markdown, table_csv
from benchmon.views.sheets import text as text_sheet

DESCRIPTION = """\
Print the sheet of a session: the machine, the tags, the phases with their figures, the throttle
events with cause and evidence, and the thermal verdict with its uncertainty.

  benchmon sheet                                    the newest session
  benchmon sheet run.session.jsonl --format markdown --output run.md
  benchmon sheet run --format json | some-program
"""
_RENDERERS = {
    "text": text_sheet.render,
    "markdown": markdown.render,
    "csv": table_csv.render,
    "json": document_json.render,
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("session", nargs="?", help="file, or part of a session's name (default: the newest)")
    parser.add_argument("--format", choices=tuple(_RENDERERS), help="text (default), markdown, csv or json")
    parser.add_argument("--json", action="store_const", dest="format", const="json", help="the same as --format json")
    parser.add_argument("--output", type=new_file, metavar="FILE", help="write to a new file instead of the terminal")
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
    """Read, summarise, print."""
    summary = summary_of(args)
    text = _RENDERERS[args.format or "text"](summary)
    if args.output is None:
        write_text(text)
    else:
        write_new(args.output, text)
    return int(ExitCode.THROTTLED if args.fail_if_throttled and summary.events else ExitCode.OK)


def summary_of(args: argparse.Namespace, part_watts: float | None = None) -> Summary:
    """Read the session that was named and conclude what can be concluded."""
    session = read_session(chosen_session(args.session))
    return summarise(
        session,
        AnalysisOptions(limit_c=args.limit, room_c=args.ambient, criterion=args.criterion, part_watts=part_watts),
    )


def write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet.

    Raises:
        OutputError: if it is, or cannot be written.
    """
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError:
        raise OutputError(f"{path} exists already.", "Choose another name; nothing is ever overwritten.") from None
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror}.") from None
