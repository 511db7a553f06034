"""Draws the figures of ``docs/pictures/`` anew from the recordings: ``python -m tests.support.draw_figures``; look at them."""

from math import inf
from pathlib import Path

from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.analysis.summary import summarise
from benchmon.session.reader import read_session
from benchmon.views.figures.files.saving import Style
from benchmon.views.figures.making import GATHERERS, save_change, save_picture

ROOT = Path(__file__).parents[2]


NAMES = ("box-as-bought", "box-with-duct")


def new(kind):
    path = ROOT / "docs" / "pictures" / f"figure-{kind}.svg"
    path.unlink(missing_ok=True)
    return path


def main():
    sessions = [read_session(ROOT / "recordings" / f"{name}.session.jsonl") for name in NAMES]
    before, after = ((one, summarise(one, look_every_s=inf)) for one in sessions)
    for kind in GATHERERS:
        print(save_picture(kind, *before, new(kind), Style()))
    comparison = compare([bench_run(one, name) for one, name in zip(sessions, NAMES, strict=True)])
    print(save_change(comparison, before, after, new("change"), Style()))


if __name__ == "__main__":
    main()
