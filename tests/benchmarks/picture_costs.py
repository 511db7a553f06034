"""What pictures cost beyond the report itself: ``python -m tests.benchmarks.picture_costs [SESSION]``.

Without a session, one of 24 h at 0.5 s is made. Figures are processor time of this process, so that other work of the
machine hardly matters; the first picture includes loading the library that draws. Asked: the page within 3 s and under
1 MB, a figure within 4 s.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from time import process_time
from typing import TypeVar

from benchmon.analysis.summary import NO_LOOKS_S, summarise
from benchmon.session.reader import StoredSession
from benchmon.views.figures.captions import captions
from benchmon.views.figures.files.saving import Style, write
from benchmon.views.figures.making import GATHERERS
from benchmon.views.figures.page import render_page
from benchmon.views.figures.run_picture import run_picture
from benchmon.views.sheets.text import render
from tests.benchmarks.long_sessions.made import Long
from tests.benchmarks.long_sessions.made import write as write_session

T = TypeVar("T")


def timed(what: str, make: Callable[[], T], note: Callable[[T], str] = lambda _made: "") -> T:
    begun = process_time()
    made = make()
    print(f"{what:<28}{process_time() - begun:8.2f} s  {note(made)}", flush=True)
    return made


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        if len(sys.argv) > 1:
            path = Path(sys.argv[1])
        else:
            path = write_session(Long(24, 0.5), Path(folder) / "day.session.jsonl")
        session = timed("reading what is indexed", lambda: StoredSession(path))
        summary = timed("the report: analysis", lambda: summarise(session, look_every_s=NO_LOOKS_S))
        timed("the report: text", lambda: render(summary))
        timed("page", lambda: render_page(session, summary), lambda page: f"{len(page.encode()) / 1e6:.2f} MB")
        timed("captions", lambda: captions(run_picture(session, summary), summary, 60.0))
        for kind, gather in GATHERERS.items():
            for form, style in (("png", Style()), ("png", Style("3840x2160")), ("svg", Style())):
                timed(
                    f"{kind} {style.size} {form}",
                    lambda gather=gather, form=form, style=style: _drawn(gather(session, summary), form, style),
                    lambda size: f"{size / 1e6:.2f} MB",
                )


def _drawn(picture: object, form: str, style: Style) -> int:
    if picture.why_not:  # type: ignore[attr-defined]
        return 0
    drawn = BytesIO()
    write(picture, drawn, form, style)  # type: ignore[arg-type]
    return len(drawn.getvalue())


if __name__ == "__main__":
    main()
