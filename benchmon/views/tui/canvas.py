"""The one widget: rows of the page as Textual's lines. Only rows that changed are drawn again."""

from __future__ import annotations

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from benchmon.views.tui.look import Row
from benchmon.views.tui.palette import Palette

_PLAIN_STYLES: dict[str, dict[str, str | bool]] = {
    "plain": {},
    "strong": {"bold": True},
    "rule": {"dim": True},
    "key": {"underline": True},
}
"""Only the paper's faint print is dim: dim letters are too faint to read on some terminals."""


class StyleBook:
    """Style names → styles: with a trailing ``!`` reversed.

    Args:
        palette: colours of lines; all other styles are made of dim, bold, underline and reverse.
    """

    def __init__(self, palette: Palette) -> None:
        self._made: dict[str, Style] = {}
        self._palette = palette

    def style(self, name: str) -> Style:
        """The style of that name."""
        made = self._made.get(name)
        if made is None:
            base = name.rstrip("!")
            parts: dict[str, str | bool] = dict(_PLAIN_STYLES.get(base, {}))
            if base in self._palette:
                parts["color"] = self._palette[base]
            if "!" in name:
                parts["reverse"] = True
            made = self._made[name] = Style(**parts)  # type: ignore[arg-type]
        return made


class Canvas(Widget, can_focus=True):
    """Fills the screen with the rows it is given."""

    DEFAULT_CSS = "Canvas { width: 100%; height: 100%; }"

    def __init__(self, book: StyleBook) -> None:
        super().__init__()
        self._book = book
        self._rows: list[Row] = []
        self._strips: list[Strip] = []

    def show(self, rows: list[Row]) -> None:
        """Show these rows; asks for a new drawing of those that are not as before."""
        changed = []
        if len(rows) != len(self._rows):
            self._rows = [()] * len(rows)
            self._strips = [Strip.blank(0)] * len(rows)
        for y, row in enumerate(rows):
            if row != self._rows[y]:
                self._rows[y] = row
                self._strips[y] = Strip([Segment(text, self._book.style(style)) for style, text in row])
                changed.append(Region(0, y, max(self.size.width, 1), 1))
        if changed:
            self.refresh(*changed)

    def render_lines(self, crop: Region) -> list[Strip]:
        """The wanted rows, without Textual's boxes and filters around each line: half of a refresh's cost."""
        left, right = crop.x, crop.right
        blank = Strip.blank(crop.width)
        lines = []
        for y in range(crop.y, crop.bottom):
            strip = self._strips[y] if y < len(self._strips) else blank
            whole = left == 0 and right == strip.cell_length
            lines.append(strip if whole else strip.extend_cell_length(right).crop(left, right))
        return lines
