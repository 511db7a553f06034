"""The page of a comparison: the answers first, the runs laid over one another, the tables."""

from __future__ import annotations

from benchmon.model.comparison import Comparison
from benchmon.views.doors import markup
from benchmon.views.figures.change_picture import ChangePicture
from benchmon.views.figures.page import fact_list, sentence_list, table_lines, whole_page
from benchmon.views.figures.run_svg import draw_run
from benchmon.views.sheets.comparison.content import Section, make_comparison
from benchmon.views.sheets.phase_table import Table


def render_comparison_page(comparison: Comparison, change: ChangePicture | None) -> str:
    """The page; ``change`` is the picture of two runs, None where more are compared."""
    sheet = make_comparison(comparison)
    parts = []
    for section in sheet.sections:
        lines = [f"<p>{markup(sentence)}</p>" for sentence in section.answers]
        parts += ['<section class="verdict">', f"<h2>{markup(section.title)}</h2>", *lines, "</section>"]
    parts += ["<section>", "<h2>What was compared</h2>", *fact_list(sheet.facts), "</section>"]
    if sheet.table:
        head, *rows = sheet.table
        best_first = table_lines(Table(head, ("",) * len(head), tuple(rows)))
        parts += ["<section>", "<h2>Best first</h2>", *best_first, "</section>"]
    if change is not None and not change.why_not:
        foot = ". ".join(change.footing)
        figure = f"<figure>{draw_run(change.run)}<figcaption>{markup(foot)}.</figcaption></figure>"
        parts += ["<section>", "<h2>The runs, phase by phase</h2>", figure, "</section>"]
    for section in sheet.sections:
        parts += _phases(section, f" ({section.title})" if len(sheet.sections) > 1 else "")
    parts += ["<section>", "<h2>What this rests on</h2>", *sentence_list(sheet.basis), "</section>"]
    return whole_page(sheet.title, parts)


def _phases(section: Section, which: str) -> list[str]:
    """Caveats and tables; ``which`` names the sides where there are several to be told apart."""
    parts = []
    if section.caveats:
        parts += ["<section>", f"<h2>Not alike{markup(which)}</h2>", *sentence_list(section.caveats), "</section>"]
    if which and section.phases:
        parts.append(f"<h2>Phase by phase{markup(which)}</h2>")
    for phase in section.phases:
        columns = (phase.title, "unit", "before", "after", "difference (95 %)")
        parts += table_lines(Table(columns, ("",) * len(columns), phase.rows))
        parts += [f"<p>{markup(phase.note)}</p>"] if phase.note else []
    return parts
