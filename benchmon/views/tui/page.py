"""The whole screen as rows: heading, words, strips, foot, sheet or panel, keys or prompt. Pure."""

from __future__ import annotations

from functools import lru_cache

from benchmon.views.tui.drawing import Drawing, Surroundings
from benchmon.views.tui.key_lines import key_page, key_rows, prompt_rows, prompt_words
from benchmon.views.tui.layout import LEAST_HEIGHT, LEAST_WIDTH, is_too_small, lay_out
from benchmon.views.tui.look import Look, Row, fit
from benchmon.views.tui.panels import panel_lines, panel_rows
from benchmon.views.tui.paper import draw_paper
from benchmon.views.tui.quantities import shown_quantities
from benchmon.views.tui.sentences import happening
from benchmon.views.tui.sheet_page import sheet_page
from benchmon.views.tui.sheet_rows import sheet_rows
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.top import heading_row, word_rows
from benchmon.views.tui.view import Mode, Panel, View
from benchmon.views.tui.wrapping import wrapped


def draw_page(state: ViewState, view: View, around: Surroundings, size: tuple[int, int], look: Look) -> list[Row]:
    """All rows of the screen; each is exactly as wide as the terminal.

    Args:
        state: what is known.
        view: how it is looked at.
        around: what else there is.
        size: columns and lines of the terminal.
        look: what the terminal can show.
    """
    width, height = size
    drawing = Drawing(state, view, around, tuple(state.analyst.phases()), width, height, look)
    if is_too_small(width, height):
        return _small_page(drawing)
    concluded = state.conclusion is not None and view.mode is not Mode.SHEET
    layout = lay_out(width, height, len(shown_quantities(state)), len(drawing.phases), view.mode, concluded=concluded)
    rows = [heading_row(drawing), *word_rows(drawing, layout.words)]
    if layout.strips:
        rows += [_rule("strip chart", width, look)] * layout.gap
        rows += draw_paper(drawing, layout)
    if layout.sheet:
        rows += [_rule("bench sheet", width, look)] * layout.gap
        rows += (sheet_page if view.mode is Mode.SHEET else sheet_rows)(drawing, layout.sheet)
    rows += [fit([], width, look)] * (height - 2 - len(rows))
    if view.panel is not Panel.NONE:
        _lay_panel(rows, drawing, layout.sheet)
    if view.prompt is not None:
        rows += prompt_rows(view, state.load_runs, width, look)
    else:
        rows += key_rows(key_page(around, view), width, look)
    return rows


def _small_page(drawing: Drawing) -> list[Row]:
    """What is asked, else the answer to a key, else what is happening; how to leave is always in sight."""
    view, width, height, look = drawing.view, drawing.width, drawing.height, drawing.look

    def lines_of(text: str) -> list[str]:
        return wrapped(look.text(text), width)

    if view.prompt is not None:
        lines = lines_of(" ".join((view.message, prompt_words(view, drawing.state.load_runs))).strip())
        lines = lines[-height:]  # the end of what is typed, and the keys that answer
    else:
        words = view.message or happening(drawing.state, drawing.phases, drawing.around.silent_s)
        least = f"The whole screen needs {LEAST_WIDTH}x{LEAST_HEIGHT}."
        lines, tail = lines_of(words), lines_of(f"{least} q leaves.")
        if len(lines) + len(tail) > height:
            tail = lines_of("q leaves.") if height > 2 else []
        lines = [*lines[: max(height - len(tail), 0)], *tail][:height]
    return [fit([("plain", line)], width, look) for line in lines + [""] * (height - len(lines))]


@lru_cache(maxsize=4)
def _rule(name: str, width: int, look: Look) -> Row:
    sign = look.sign("─", "-")
    return fit([("rule", sign * 2), ("plain", f" {name} "), ("rule", sign * (width - len(name) - 4))], width, look)


def _lay_panel(rows: list[Row], drawing: Drawing, sheet: int) -> None:
    """Lay the open panel over the lowest lines: over the sheet, and over the traces as far as it must."""
    lines = panel_lines(drawing.state, drawing.view, drawing.around, drawing.width)
    place = min(max(len(lines), sheet), len(rows) - 3)
    rows[len(rows) - place :] = panel_rows(lines, drawing.view, drawing.width, place, drawing.look)
