"""Draws the figures of ``docs/pictures/`` anew from the recordings: ``python -m tests.support.draw_figures``; look at them."""

from math import inf
from pathlib import Path

from benchmon.analysis.summary import summarise
from benchmon.session.reader import read_session
from benchmon.views.figures.making import GATHERERS, save_picture
from benchmon.views.figures.plots import Style

ROOT = Path(__file__).parents[2]


def main():
    session = read_session(ROOT / "recordings" / "box-as-bought.session.jsonl")
    summary = summarise(session, look_every_s=inf)
    for kind in GATHERERS:
        path = ROOT / "docs" / "pictures" / f"figure-{kind}.svg"
        path.unlink(missing_ok=True)
        print(save_picture(kind, session, summary, path, Style()))


if __name__ == "__main__":
    main()
