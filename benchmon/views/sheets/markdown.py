"""The bench sheet as Markdown, for an article or a forum."""

from __future__ import annotations

from benchmon.model.findings import Summary
from benchmon.views.sheets.content import Table, make_sheet


def render(summary: Summary) -> str:
    """The whole sheet; ends with a newline."""
    sheet = make_sheet(summary)
    lines = [f"# {_safe(sheet.title)}", ""]
    lines += [f"- **{label}:** {_safe(text)}" for label, text in sheet.facts]
    lines += ["", "## Phases", "", *_table(sheet.phases)]
    if len(sheet.more.columns) > 1:
        lines += ["", *_table(sheet.more)]
    lines += ["", "## Throttle events", ""]
    for sentence, details in sheet.events:
        lines.append(_safe(sentence))
        lines += [f"   - {_safe(detail)}" for detail in details]
    if not sheet.events:
        lines.append(sheet.no_events)
    lines += ["", "## Thermal verdict", ""]
    lines += [f"- {_safe(sentence)}" for sentence in sheet.verdict]
    if sheet.entries:
        lines += ["", "## Entered", ""]
        lines += [f"- {_safe(sentence)}" for sentence in sheet.entries]
    if sheet.doubts:
        lines += ["", "## To be borne in mind", ""]
        lines += [f"- {_safe(sentence)}" for sentence in sheet.doubts]
    return "\n".join(lines) + "\n"


def _table(table: Table) -> list[str]:
    heads = [f"{name} [{unit}]" if unit else name for name, unit in zip(table.columns, table.units, strict=True)]
    return [
        "| " + " | ".join(heads) + " |",
        "|" + "|".join(["---"] + ["---:"] * (len(heads) - 1)) + "|",
        *("| " + " | ".join(_safe(cell) for cell in row) + " |" for row in table.rows),
    ]


def _safe(text: str) -> str:
    """Keep what people typed from becoming markup."""
    for sign in ("\\", "|", "*", "_", "<", "`", "["):
        text = text.replace(sign, "\\" + sign)
    return text
