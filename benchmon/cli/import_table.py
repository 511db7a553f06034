"""``benchmon import``: make a session of anybody's table."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchmon.cli.console import say, write_text
from benchmon.cli.values import new_file, number_between, tag
from benchmon.errors import ExitCode
from benchmon.plain_text import one_line

DESCRIPTION = """\
Make a session of a table. Columns: t_s and any of clock_mhz, power_w, temp_c, load_pct, work_rate,
temp_limit_c, power_limit_w, throttle_count; at least one of clock, work rate or temperature.

  benchmon import trace.csv -o trace.session.jsonl --ambient 19 --tag duct=none
  benchmon sheet trace.session.jsonl
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("table", type=Path, help="the table: comma, semicolon or tab between the columns")
    parser.add_argument(
        "-o", "--output", type=new_file, required=True, metavar="SESSION", help="the session file to make"
    )
    parser.add_argument("--ambient", type=number_between(-40, 60, "C"), metavar="C", help="room temperature [°C]")
    parser.add_argument("--tag", type=tag, action="append", default=[], metavar="KEY=VALUE", help="as in duct=fitted")


def run(args: argparse.Namespace) -> int:
    """Read the table, write the session, say what was treated."""
    from benchmon.session.table_import import import_table
    from benchmon.session.writer import SessionWriter

    imported = import_table(args.table, ambient_c=args.ambient, tags=dict(args.tag))
    writer = SessionWriter(args.output, elsewhere="-o")
    writer.write(imported.session.header)
    for record in imported.session.records:
        writer.write(record)
    writer.close()
    for note in imported.notes:
        say(note)
    write_text(f"{one_line(str(args.output))}\n")
    return int(ExitCode.OK)
