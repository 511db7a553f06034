"""A comparison as Markdown, for an article or a forum."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model.comparison import Comparison
from benchmon.views.doors import markdown
from benchmon.views.sheets.comparison.content import make_comparison


def render(comparison: Comparison) -> str:
    """The whole comparison; ends with a newline."""
    sheet = make_comparison(comparison)
    lines = [f"# {markdown(sheet.title)}", ""]
    lines += [f"- **{label}:** {markdown(text)}" for label, text in sheet.facts]
    if sheet.table:
        lines += ["", "## Best first", "", *_table(sheet.table)]
    for section in sheet.sections:
        lines += ["", f"## {markdown(section.title)}", "", *(f"- {markdown(one)}" for one in section.answers)]
        if section.caveats:
            lines += ["", "### Not alike", "", *(f"- {markdown(one)}" for one in section.caveats)]
        for phase in section.phases:
            head = (phase.title, "unit", "before", "after", "difference (95 %)")
            lines += ["", *_table((head, *phase.rows))]
            lines += ["", markdown(phase.note)] if phase.note else []
    lines += ["", "## What this rests on", "", *(f"- {markdown(one)}" for one in sheet.basis)]
    return "\n".join(lines) + "\n"


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    drawn = ["| " + " | ".join(markdown(cell) for cell in row) + " |" for row in rows]
    return [drawn[0], "|" + "|".join(["---"] + ["---:"] * (len(rows[0]) - 1)) + "|", *drawn[1:]]
