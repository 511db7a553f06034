"""The bench sheet as Markdown, for an article or a forum."""

from __future__ import annotations

from benchmon.model.findings import Summary
from benchmon.views.doors import markdown
from benchmon.views.sheets.content import make_sheet
from benchmon.views.sheets.phase_table import Table


def render(summary: Summary) -> str:
    """The whole sheet; ends with a newline."""
    sheet = make_sheet(summary)
    lines = [f"# {markdown(sheet.title)}", ""]
    lines += [f"- **{label}:** {markdown(text)}" for label, text in sheet.facts]
    lines += ["", "## Phases", "", *_table(sheet.phases)]
    if sheet.phases_note:
        lines += ["", markdown(sheet.phases_note)]
    if len(sheet.more.columns) > 1:
        lines += ["", *_table(sheet.more)]
    lines += ["", "## Throttle events", ""]
    for sentence, details in sheet.events:
        number, _, words = sentence.partition(". ")
        lines.append(f"{number}. {markdown(words)}")
        lines += [f"   - {markdown(detail)}" for detail in details]
    if not sheet.events:
        lines.append(markdown(sheet.no_events))
    lines += ["", "## Thermal verdict", ""]
    lines += [f"- {markdown(sentence)}" for sentence in sheet.verdict]
    for heading, sentences in sheet.own:
        lines += ["", f"## {heading}", "", *(f"- {markdown(sentence)}" for sentence in sentences)]
    if sheet.entries:
        lines += ["", "## Entered", ""]
        lines += [f"- {markdown(sentence)}" for sentence in sheet.entries]
    if sheet.doubts:
        lines += ["", "## Caveats", ""]
        lines += [f"- {markdown(sentence)}" for sentence in sheet.doubts]
    return "\n".join(lines) + "\n"


def _table(table: Table) -> list[str]:
    heads = [f"{name} [{unit}]" if unit else name for name, unit in table.headings()]
    return [
        "| " + " | ".join(heads) + " |",
        "|" + "|".join(["---"] + ["---:"] * (len(heads) - 1)) + "|",
        *("| " + " | ".join(markdown(cell) for cell in row) + " |" for row in whole_names(table)),
    ]


def whole_names(table: Table) -> list[tuple[str, ...]]:
    """The rows, those that belong to a phase under its name: Markdown knows no indent in a table."""
    rows, phase = [], ""
    for name, *cells in table.rows:
        if name.startswith(" "):
            rows.append((f"{phase}, {name.strip()}", *cells))
        else:
            phase = name
            rows.append((name, *cells))
    return rows
