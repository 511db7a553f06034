"""``benchmon export``: sessions as tables for other engines."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from benchmon.cli.console import say, write_text
from benchmon.cli.progress import Progress
from benchmon.cli.sessions import add_choice, chosen_by_facts
from benchmon.errors import ExitCode, MachineError, NoSessionError, UsageError
from benchmon.plain_text import one_line

if TYPE_CHECKING:
    from benchmon.library.export import TableFile

DESCRIPTION = """\
Write sessions as tables that SQL engines and data frames read: sessions, phases, events and samples,
with units in the schema, in folders by machine and day. docs/queries.md shows questions to them.

  benchmon export run1 run2 --to parquet tables/
  benchmon export --with-tag paste=fresh --to csv tables/     those that fit, of your own folder
  benchmon export --all --to parquet tables/

Parquet needs pyarrow: pip install 'benchmon[tables]'. CSV needs nothing.
"""
_FORMATS = ("parquet", "csv")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("sessions", nargs="*", metavar="SESSION", help="file, or part of a session's name")
    parser.add_argument(
        "--to", nargs=2, required=True, metavar=("FORMAT", "FOLDER"), help="parquet or csv, and a new or empty folder"
    )
    parser.add_argument("--all", action="store_true", help="all sessions of your own folder")
    add_choice(parser)


def run(args: argparse.Namespace) -> int:
    """Find the sessions, write the tables."""
    from benchmon.library.export import export
    from benchmon.stream.store import find_session, sessions_folder

    form, folder = args.to[0], Path(args.to[1])
    if form not in _FORMATS:
        raise UsageError(f"“{form}” is no format of tables", f"Write one of: {', '.join(_FORMATS)}.")
    table_file = _table_file(form)
    chosen = chosen_by_facts(args, takes_all=args.all)
    paths = [find_session(name) for name in args.sessions] if chosen is None else chosen
    if not paths:
        raise UsageError("no session was named", "Name some, describe them, or write --all.")
    progress = Progress("Writing tables")
    try:
        count = export(paths, folder, table_file, say=say, watch=progress)
    finally:
        progress.done()
    if not count:
        raise NoSessionError(f"None of the {len(paths)} sessions of {sessions_folder()} could be read.")
    write_text(f"{count} sessions as {form} in {one_line(str(folder))}\n")
    return int(ExitCode.OK if count == len(set(paths)) else ExitCode.INPUT)


def _table_file(form: str) -> type[TableFile]:
    if form == "csv":
        from benchmon.library.csv_file import CsvFile

        return CsvFile
    try:
        import benchmon.analysis.fit.one_thread  # noqa: F401  (before pyarrow, which loads numpy)
        from benchmon.library.parquet_file import ParquetFile
    except ImportError:
        raise MachineError(
            "Parquet needs pyarrow, which is not installed here", "pip install 'benchmon[tables]', or write --to csv."
        ) from None
    return ParquetFile
