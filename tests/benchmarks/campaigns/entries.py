"""Many writers enter into one session at once: is every entry kept, with a number of its own?

python -m tests.benchmarks.campaigns.entries [WRITERS] [EACH]
"""

from __future__ import annotations

import multiprocessing
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from benchmon.model.records import Mark, MarkKind, SessionEnd, SessionHeader
from benchmon.session.entries import append_entry
from benchmon.session.reader import read_session
from benchmon.session.writer import SessionWriter
from benchmon.stream.marking import MarkBook


def enter(path: Path, writer: int, each: int) -> None:
    """One writer's entries."""
    for count in range(each):
        request = {"kind": MarkKind.NOTE.value, "text": f"writer {writer} entry {count}"}
        append_entry(path, lambda highest, request=request: MarkBook(highest).from_request(1.0, request))


def campaign(writers: int, each: int) -> tuple[int, int, int]:
    """Entries made, kept, and different numbers among them."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.session.jsonl"
        writer = SessionWriter(path)
        writer.write(SessionHeader("x", datetime(2026, 1, 1, tzinfo=UTC), 0.5, ()))
        writer.write(SessionEnd(1.0, "a campaign"))
        writer.close()
        with multiprocessing.Pool(writers) as pool:
            pool.starmap(enter, [(path, number, each) for number in range(writers)])
        marks = [record for record in read_session(path).records if isinstance(record, Mark)]
        return writers * each, len({mark.text for mark in marks}), len({mark.number for mark in marks})


def main() -> None:
    """Print the table."""
    writers, each = (int(word) for word in (sys.argv[1:] or ("8", "100")))
    made, kept, numbers = campaign(writers, each)
    print(f"{writers} writers x {each}: {made} made, {kept} kept, {numbers} different numbers")


if __name__ == "__main__":
    main()
