"""``benchmon import``: import any CSV table as a session."""

from __future__ import annotations

import argparse
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from benchmon.cli.console import say, write_text
from benchmon.cli.values import new_file, number_between, tag
from benchmon.errors import ExitCode, UsageError
from benchmon.model.records import Sample
from benchmon.plain_text import one_line
from benchmon.session.table_headings import parse_map
from benchmon.session.table_long import parse_long
from benchmon.views.numbers import duration, plain

if TYPE_CHECKING:
    from benchmon.session.table_import import ImportedTable

DESCRIPTION = """\
Make a session of a table. Columns: t_s and any of clock_mhz, power_w, temp_c, load_pct, work_rate,
wall_w, room_c, temp_limit_c, power_limit_w, throttle_count; at least one of clock, work rate or
temperature. Other units in names of the same kind are converted (clock_ghz, power_mw, temp_f, t_ms);
for headings of another kind say which is which. Times may be seconds, ISO 8601 moments or a clock's.

  benchmon import trace.csv -o trace.session.jsonl --ambient 19 --tag duct=none
  benchmon import log.csv --preview --map "Date=time" --map "Package [mW]=power_w" --map "Hottest=temp_c:F"
  benchmon import readings.csv -o r.session.jsonl --long when,sensor,reading --map "cpu heat=temp_c"
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("table", type=Path, help="the table: comma, semicolon or tab between the columns")
    parser.add_argument("-o", "--output", type=new_file, metavar="SESSION", help="the session file to make")
    parser.add_argument("--preview", action="store_true", help="say what is understood of the table; write nothing")
    parser.add_argument(
        "--map",
        dest="mapped",
        type=parse_map,
        action="append",
        default=[],
        metavar="HEADING=NAME[:UNIT]",
        help="which column is what: 'Hottest=temp_c:F'; a unit in brackets in the heading is understood",
    )
    parser.add_argument(
        "--long",
        type=parse_long,
        metavar="TIME,NAME,VALUE",
        help="the table has one row a reading; the headings of its three columns",
    )
    parser.add_argument("--decimal-comma", action="store_true", default=None, help="numbers are written as 12,5")
    parser.add_argument("--ambient", type=number_between(-40, 60, "C"), metavar="C", help="room temperature [°C]")
    parser.add_argument("--tag", type=tag, action="append", default=[], metavar="KEY=VALUE", help="as in duct=fitted")


def run(args: argparse.Namespace) -> int:
    """Read the table, write the session, say what was treated."""
    from benchmon.session.table_file import Told
    from benchmon.session.table_import import import_table
    from benchmon.session.writer import SessionWriter

    if args.output is None and not args.preview:
        raise UsageError("where to is not said", "Name the session to make: -o run.session.jsonl; or look: --preview.")
    told = Told(dict(args.mapped), args.long, args.decimal_comma)
    imported = import_table(args.table, ambient_c=args.ambient, tags=dict(args.tag), told=told)
    if args.preview:
        write_text("\n".join(_preview(imported)) + "\n")
        return int(ExitCode.OK)
    writer = SessionWriter(args.output, elsewhere="-o")
    writer.write(imported.session.header)
    for record in imported.session.records:
        writer.write(record)
    writer.close()
    for note in imported.notes:
        say(note)
    write_text(f"{one_line(str(args.output))}\n")
    return int(ExitCode.OK)


def _preview(imported: ImportedTable) -> list[str]:
    """What was understood, in lines of at most 80 columns; nothing is written."""
    header = imported.session.header
    samples = [record for record in imported.session.records if isinstance(record, Sample)]
    length = duration(samples[-1].t_s - samples[0].t_s)
    begin = f"{header.started_at:%Y-%m-%d %H:%M:%S} UTC"
    lines = [
        "Preview: nothing was written.",
        f"{len(samples)} rows, {header.period_s:g} s apart, {length} in all, from {begin}.",
        "",
        f"{'column':<31}{'taken as':<15}{'readings':>8} {'least':>12} {'greatest':>12}",
    ]
    for column in imported.columns:
        heading = one_line(column.taken.heading, 28) + (f" ({column.taken.unit})" if column.taken.unit else "")
        least, greatest = (plain(value, 1) for value in (column.least, column.greatest))
        lines.append(f"{heading[:30]:<31}{column.taken.name:<15}{column.count:>8} {least:>12} {greatest:>12}"[:80])
    return [*lines, "", *(part for note in imported.notes for part in wrap(note, 80))]
