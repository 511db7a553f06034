"""``benchmon verdict``: can this cooler carry a part of so many watts?"""

from __future__ import annotations

import argparse

from benchmon.cli.chosen import chosen_session
from benchmon.cli.console import write_text
from benchmon.cli.sheet import add_analysis_arguments, summary_of
from benchmon.cli.values import number_between
from benchmon.errors import ExitCode
from benchmon.views.doors import json_text
from benchmon.views.sheets import content, document_json
from benchmon.views.words.part_watts import HOW_TO_KNOW, NOT_RATED, WHAT_IT_IS, part_watts_note
from benchmon.views.words.verdict import verdict

DESCRIPTION = """\
Say how many watts the cooler sustains in this room or another one, and whether it can cool a processor
of so many watts: yes, no or cannot say, with the margin in kelvin and watts.

  benchmon verdict                                  the newest session
  benchmon verdict run --part-watts 52
  benchmon verdict run --part-watts 52 --limit 82 --ambient 30
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("session", nargs="?", help="file, or part of a session's name (default: the newest)")
    parser.add_argument(
        "--part-watts",
        type=number_between(0.5, 1000, "W"),
        metavar="W",
        help=f"{WHAT_IT_IS} [W]. {NOT_RATED} {HOW_TO_KNOW}",
    )
    parser.add_argument("--json", action="store_true", help="for programs")
    add_analysis_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Conclude, and say it."""
    summary = summary_of(args, chosen_session(args.session), args.part_watts)
    if args.json:
        write_text(json_text(document_json.document(summary)["thermal"], indent=2) + "\n")
    else:
        note = [] if args.part_watts is None else ["", part_watts_note(args.part_watts)]
        write_text("\n".join([content.title(summary, "Thermal verdict"), "", *verdict(summary), *note]) + "\n")
    return int(ExitCode.OK)
