"""A terminal's bytes as a picture, so that a screen can be looked at: braille as dots, blocks and lines as shapes."""

from __future__ import annotations

import re

import pyte
from PIL import Image, ImageDraw, ImageFont

CELL_WIDTH, CELL_HEIGHT = 10, 20
PAPER, INK = (18, 19, 22), (212, 212, 208)
FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSansMono.ttf"
BOLD_FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSansMono-Bold.ttf"
# The sixteen colours are the terminal's own; here they follow the palette of Okabe and Ito (2008) as the docs say.
COLOURS = {
    "black": (0, 0, 0),
    "red": (213, 94, 0),
    "green": (0, 158, 115),
    "brown": (230, 159, 0),
    "blue": (0, 114, 178),
    "magenta": (204, 121, 167),
    "cyan": (86, 180, 233),
    "white": (200, 200, 200),
    "brightblack": (84, 86, 92),
    "brightred": (240, 130, 50),
    "brightgreen": (60, 190, 150),
    "brightbrown": (240, 228, 66),
    "brightblue": (90, 160, 215),
    "brightmagenta": (225, 160, 195),
    "brightcyan": (140, 205, 240),
    "brightwhite": (250, 250, 250),
}
_UNKNOWN_TO_PYTE = re.compile(rb"\x1b\[[<>=][0-9;]*u|\x1b\[\?[0-9;]*\$p|\x1b\[\?2026[hl]")
_STYLES = re.compile(rb"\x1b\[([0-9;]*)m")


def screen_of(raw: bytes, columns: int, rows: int) -> pyte.Screen:
    """The screen after these bytes."""
    screen = pyte.Screen(columns, rows)
    pyte.ByteStream(screen).feed(_STYLES.sub(_dim_as_colour, _UNKNOWN_TO_PYTE.sub(b"", raw)))
    return screen


def _dim_as_colour(found: re.Match[bytes]) -> bytes:
    """The screen model does not know dim letters: give them a grey of their own."""
    parts = found[1].split(b";")
    if parts[0] == b"2":
        return b"\x1b[38;2;136;138;142m"
    return found[0]


def draw(raw: bytes, columns: int, rows: int, path: str) -> None:
    """Write the screen after these bytes as a PNG file."""
    screen = screen_of(raw, columns, rows)
    image = Image.new("RGB", (columns * CELL_WIDTH + 16, rows * CELL_HEIGHT + 16), PAPER)
    pencil = ImageDraw.Draw(image)
    fonts = (ImageFont.truetype(FONT, 16), ImageFont.truetype(BOLD_FONT, 16))
    for y in range(rows):
        for x in range(columns):
            cell = screen.buffer[y][x]
            ink, paper = _colour(cell.fg, INK), _colour(cell.bg, PAPER)
            if cell.reverse:
                ink, paper = paper, ink
            left, top = 8 + x * CELL_WIDTH, 8 + y * CELL_HEIGHT
            if paper != PAPER:
                pencil.rectangle((left, top, left + CELL_WIDTH - 1, top + CELL_HEIGHT - 1), fill=paper)
            _draw_sign(pencil, cell.data or " ", (left, top), ink, fonts[1] if cell.bold else fonts[0])
    image.quantize(128, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(path, optimize=True)


def _colour(name: str, otherwise: tuple[int, int, int]) -> tuple[int, int, int]:
    if name == "default":
        return otherwise
    if name in COLOURS:
        return COLOURS[name]
    return (int(name[0:2], 16), int(name[2:4], 16), int(name[4:6], 16))


def _draw_sign(pencil, sign: str, at: tuple[int, int], ink: tuple[int, int, int], font) -> None:
    left, top = at
    code = ord(sign[0])
    if 0x2800 <= code < 0x2900:
        places = ((0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3))
        for bit, (across, down) in enumerate(places):
            if code - 0x2800 >> bit & 1:
                x, y = left + 2.5 + across * 5, top + 2.5 + down * 5
                pencil.ellipse((x - 1.6, y - 1.6, x + 1.6, y + 1.6), fill=ink)
    elif sign == "▀":
        pencil.rectangle((left, top, left + CELL_WIDTH - 1, top + CELL_HEIGHT / 2 - 1), fill=ink)
    elif sign == "▄":
        pencil.rectangle((left, top + CELL_HEIGHT / 2, left + CELL_WIDTH - 1, top + CELL_HEIGHT - 1), fill=ink)
    elif sign == "█":
        pencil.rectangle((left, top, left + CELL_WIDTH - 1, top + CELL_HEIGHT - 1), fill=ink)
    elif sign != " ":
        pencil.text((left, top), sign, font=font, fill=ink)
