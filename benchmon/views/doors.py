"""The ways out: what a text needs before it goes to a terminal, into Markdown, CSV, JSON, HTML, SVG or captions.

Strangers' text has become plain before (``plain_text.py``); each format adds the rule that only it needs. Every
output of the package goes through one of these; ``tests/unit/test_plain_text.py`` looks for any that does not.
"""

from __future__ import annotations

import json
import re
from typing import Any

_STEERS = re.compile(r"[^\n -~]")
_MARKUP = re.compile(r"([\\|*_<>`\[\]~&#])")
_LIST = re.compile(r"^(\s*\d*)([-+.)])(?=\s|$)")
"""What would begin a list."""
_LINK = re.compile(r"(?i)(:)(?=//)|\b(www)(?=\.)|(@)")
_FORMULA = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
_CAPTION_MARKUP = re.compile(r"[<>{}]")
_DENSE = json.JSONEncoder(ensure_ascii=False, allow_nan=False)
_PLAIN_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


def _is_shown(text: str) -> bool:
    """Whether all of its signs can be shown, as they nearly always can: soon found out for long texts."""
    return text.replace("\n", "").isprintable()


def terminal(text: str) -> str:
    """Text of one or more lines that cannot steer a terminal; other signs than can be shown become blanks."""
    if _is_shown(text):
        return text
    return _STEERS.sub(lambda found: found[0] if found[0].isprintable() else " ", text)


def markdown(text: str) -> str:
    """One line that stays text: no heading, link, mention, markup or entity is made of it."""
    text = " ".join(terminal(text).split("\n"))
    text = _LIST.sub(lambda found: f"{found[1]}\\{found[2]}", _MARKUP.sub(r"\\\1", text))
    return _LINK.sub(lambda found: f"\\{found[0]}" if found[0] in ":@" else f"{found[0]}\\", text)


def csv_cell(text: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    text = " ".join(terminal(text).split("\n"))
    return f"'{text}" if _FORMULA.match(text) and not _PLAIN_NUMBER.fullmatch(text) else text


def markup(text: str) -> str:
    """One line of text inside HTML or SVG, also inside a quoted attribute."""
    from html import escape  # noqa: PLC0415  (brings a table of two thousand entities)

    return escape(" ".join(terminal(text).split("\n")), quote=True)


def subtitle(text: str) -> str:
    """One line of a caption file: no time arrow, no markup of players."""
    text = " ".join(terminal(text).split("\n"))
    return _CAPTION_MARKUP.sub(" ", text).replace("-->", "->").strip()


def json_text(document: Any, indent: int | None = None) -> str:
    r"""JSON in which whatever cannot be shown stands as ``\u`` escapes.

    Raises:
        ValueError: if it holds a number that JSON has none for.
    """
    encoder = _DENSE if indent is None else json.JSONEncoder(indent=indent, ensure_ascii=False, allow_nan=False)
    text = encoder.encode(document)
    if _is_shown(text):
        return text
    return _STEERS.sub(lambda found: found[0] if found[0].isprintable() else _escaped(found[0]), text)


def _escaped(sign: str) -> str:
    return json.dumps(sign)[1:-1] if ord(sign) != 0x7F else "\\u007f"
