"""SVG by hand: few shapes, no library, so that the page needs nothing. Strangers' text goes through its door here."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from benchmon.views.doors import markup
from benchmon.views.figures.labels import Measure

_LETTER_SHARE = 0.6
"""Mean width of a letter as a share of its height, in the wider of the common serif faces."""


def letters(size: float) -> Measure:
    """About how wide and high words are; a browser's fonts are not known here."""
    return lambda words: (_LETTER_SHARE * size * len(words), 1.25 * size)


class Svg:
    """Collects shapes; ``text()`` gives the element.

    Args:
        width: of the drawing, in units of which the reader's screen decides how large they are.
        height: likewise.
        words: what the picture shows, for whoever cannot see it.
    """

    def __init__(self, width: float, height: float, words: str) -> None:
        self.width, self.height = width, height
        self._words = words
        self._parts: list[str] = []

    def line(self, a: tuple[float, float], b: tuple[float, float], kind: str) -> None:
        """A straight line; ``kind`` is its class in the style sheet."""
        self._parts.append(f'<line class="{kind}" x1="{a[0]:.1f}" y1="{a[1]:.1f}" x2="{b[0]:.1f}" y2="{b[1]:.1f}"/>')

    def path(self, points: Iterable[tuple[float, float]], kind: str, *, closed: bool = False) -> None:
        """A line through points."""
        steps = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        shape = "polygon" if closed else "polyline"
        self._parts.append(f'<{shape} class="{kind}" points="{steps}"/>')

    def box(self, corner: tuple[float, float], width: float, height: float, kind: str, words: str = "") -> None:
        """A rectangle from its upper left corner."""
        title = f"<title>{markup(words)}</title>" if words else ""
        self._parts.append(
            f'<rect class="{kind}" x="{corner[0]:.1f}" y="{corner[1]:.1f}"'
            f' width="{max(width, 0.5):.1f}" height="{height:.1f}">{title}</rect>'
        )

    def dot(self, at: tuple[float, float], kind: str, words: str = "", radius: float = 4.0) -> None:
        """A round point."""
        title = f"<title>{markup(words)}</title>" if words else ""
        self._parts.append(f'<circle class="{kind}" cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="{radius:g}">{title}</circle>')

    def write(self, at: tuple[float, float], words: str, kind: str = "", anchor: str = "start") -> None:
        """Text; ``anchor`` is start, middle or end."""
        of = f' class="{kind}"' if kind else ""
        self._parts.append(f'<text{of} x="{at[0]:.1f}" y="{at[1]:.1f}" text-anchor="{anchor}">{markup(words)}</text>')

    def raw(self, parts: Sequence[str]) -> None:
        """Definitions of our own, such as textures."""
        self._parts.extend(parts)

    def text(self) -> str:
        """The whole element."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:g} {self.height:g}" role="img"'
            f' aria-label="{markup(self._words)}">' + "".join(self._parts) + "</svg>"
        )
