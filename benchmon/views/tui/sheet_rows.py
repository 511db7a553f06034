"""The bench sheet: a row for each phase; the one that lasts fills in while it lasts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchmon.model.findings import PhaseFindings
from benchmon.views.numbers import NOT_READ
from benchmon.views.tui.drawing import Drawing
from benchmon.views.tui.look import Look, Row, cut, fit, width_of
from benchmon.views.tui.sheet_cells import COLUMNS, Column, Context


def sheet_rows(drawing: Drawing, rows: int) -> list[Row]:
    """Heading and the newest phases, as many as fit in ``rows`` lines; empty lines below where there are fewer."""
    phases, width, look = drawing.phases, drawing.width, drawing.look
    context = Context(drawing.state.now_s, drawing.state.events)
    columns = _that_fit(phases, context, width)
    lines = [fit([("plain", _line([_aligned(column, column.heading, look) for column in columns]))], width, look)]
    for phase in phases[-(rows - 1) :] if rows > 1 else ():
        cells = [_aligned(column, column.cell(phase, context), look) for column in columns]
        lasting = phase.end_s is None
        pointer = look.sign("▸", ">") if lasting else " "
        lines.append(fit([("strong" if lasting else "plain", pointer + _line(cells)[1:])], width, look))
    if not phases and rows > 1:
        words = "  No phase yet. Mark what you are doing with a key, and its row fills in."
        lines.append(fit([("plain", words)], width, look))
    return (lines + [fit([], width, look)] * rows)[:rows]


def _that_fit(phases: Sequence[PhaseFindings], context: Context, width: int) -> list[Column]:
    filled = [
        column
        for column in COLUMNS
        if column.to_left
        or column.keep < 2
        or not phases
        or any(column.cell(phase, context) not in (NOT_READ, "") for phase in phases)
    ]
    while len(filled) > 2 and sum(column.width + 2 for column in filled) > width:
        filled.remove(max(filled, key=lambda column: column.keep))
    spare = width - sum(column.width + 2 for column in filled)
    return [*filled[:-1], replace(filled[-1], width=filled[-1].width + max(spare, 0))]


def _line(cells: Sequence[str]) -> str:
    return "  " + "  ".join(cells)


def _aligned(column: Column, text: str, look: Look) -> str:
    shown = cut(look.text(text), column.width, look.sign("…", "."))
    blanks = " " * max(column.width - width_of(shown), 0)
    return shown + blanks if column.to_left else blanks + shown
