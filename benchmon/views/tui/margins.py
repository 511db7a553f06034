"""The margins of a strip: ticks and the lines that matter at its left, name and value at its right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from benchmon.views.tui.look import Look, Run
from benchmon.views.tui.quantities import Quantity
from benchmon.views.tui.strip_content import StripContent


def left_margin(content: StripContent, width: int, rows: int, look: Look) -> list[str]:
    """Labels at their heights: the lines that matter, and round numbers where none of these is in the way."""
    pen, scale, quantity = look.pen, content.scale, content.quantity
    labels: dict[int, str] = {}
    room = width - 2
    for line in content.lines:
        row = scale.dot(line.value, rows * pen.down) // pen.down
        number = quantity.bare(line.value, _line_decimals(quantity, line.value))
        texts: Iterable[str] = [f"{name} {number}" for name in line.names]
        labels.setdefault(row, next((text for text in texts if len(text) <= room), number))
    for tick in content.ticks:
        row = scale.dot(tick, rows * pen.down) // pen.down
        labels.setdefault(row, quantity.bare(tick, content.tick_decimals))
    tick_sign, plain_sign = look.sign("┤", "+"), look.sign("│", "|")
    return [
        look.text(labels[row]).rjust(room)[:room] + " " + tick_sign if row in labels else " " * (room + 1) + plain_sign
        for row in range(rows)
    ]


def _line_decimals(quantity: Quantity, value: float) -> int:
    if quantity.unit == "GHz":
        return 2
    return 0 if abs(value - round(value)) < 0.05 else 1


def right_margin(content: StripContent, rows: int) -> Sequence[Run]:
    """Name, value, and what the earlier run read there, a line each."""
    quantity = content.quantity
    lines: list[Run] = [("plain", quantity.name), ("strong", content.value_words)]
    if rows == 1:
        lines = [("strong", content.value_words)]
    if content.note:
        lines.append(("plain", content.note))
    if content.behind_words:
        lines.append(("plain", content.behind_words))
    return (lines + [("plain", "")] * rows)[:rows]
