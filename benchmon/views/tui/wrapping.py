"""Text in lines: a number is never parted from its unit, its doubt, or what it became."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

_SENTENCES = re.compile(r"(?<=[.?!]) (?=[A-Z“])")
_JOINT = "\N{NO-BREAK SPACE}"
_JOINTS = re.compile(
    r"(?<=[\d–-]) (?=(?:→|->|±|\+/-|°C|degC|GHz|MHz|GiB|Wh|W|K|K/W|K/min|min|rpm|s|/s)(?![\w/]))"
    r"|(?<=[→±]) |(?<=->) |(?<=\+/-) "
)


def wrapped(text: str, width: int, indent: str = "") -> list[str]:
    """Lines of at most ``width`` letters.

    Args:
        text: sentences.
        width: columns.
        indent: before every line but the first.
    """
    lines = textwrap.wrap(_JOINTS.sub(_JOINT, text), max(width, 1), subsequent_indent=indent)
    return [line.replace(_JOINT, " ") for line in lines]


def laid_out(paragraphs: Sequence[str], width: int, count: int, more: str) -> list[list[str]]:
    """Lines of each paragraph, ``count`` at most together: whole sentences, as many as fit, the first paragraph first.

    Args:
        paragraphs: from the most important on; later ones are left out before an earlier one is cut.
        width: columns.
        count: lines there are.
        more: ends a sentence that is longer than all the room there is for it.
    """
    given: list[list[str]] = []
    told = [text for text in paragraphs if text]
    for place, text in enumerate(told):
        used = sum(len(lines) for lines in given)
        room = count - used - (len(told) > 1 and place == 0 and count > 1)
        lines = _in_sentences(text, width, room, more) if room > 0 else []
        is_cut = bool(lines) and lines[-1].endswith(more) and not text.endswith(more)
        if lines and (place == 0 or len(told) == 2 or not is_cut):
            given.append(lines)
    return given


def _in_sentences(text: str, width: int, room: int, more: str) -> list[str]:
    sentences = _SENTENCES.split(text)
    for kept in range(len(sentences), 0, -1):
        lines = wrapped(" ".join(sentences[:kept]), width)
        if len(lines) <= room:
            return lines
    lines = lines[:room]
    return [*lines[:-1], f"{lines[-1][: width - len(more) - 1]} {more}"]
