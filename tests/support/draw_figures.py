"""Draws the figures of ``docs/pictures/`` anew, light and dark, with the sheet of the same run beside them.

``python -m tests.support.draw_figures``; look at them.
"""

from math import inf
from pathlib import Path

from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.analysis.summary import summarise
from benchmon.session.reader import read_session
from benchmon.views.figures.files.saving import Style
from benchmon.views.figures.making import GATHERERS, save_change, save_picture
from benchmon.views.sheets.text import render

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "docs" / "pictures"
NAMES = ("box-as-bought", "box-with-duct")
"""The run that is shown, and the one that it is compared with."""


def new(name):
    path = PICTURES / name
    path.unlink(missing_ok=True)
    return path


def main():
    sessions = [read_session(ROOT / "recordings" / f"{name}.session.jsonl") for name in NAMES]
    before, after = ((one, summarise(one, look_every_s=inf)) for one in sessions)
    comparison = compare([bench_run(one, name) for one, name in zip(sessions, NAMES, strict=True)])
    for ending, style in (("", Style()), ("-dark", Style(is_dark=True))):
        for kind in GATHERERS:
            print(save_picture(kind, *before, new(f"figure-{kind}{ending}.svg"), style))
        print(save_change(comparison, before, after, new(f"figure-change{ending}.svg"), style))
    new("figure-sheet.txt").write_text(render(before[1]), encoding="utf-8")


if __name__ == "__main__":
    main()
