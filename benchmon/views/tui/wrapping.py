"""Text in lines: a number is never parted from its unit, its doubt, or what it became."""

from __future__ import annotations

import re
import textwrap

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
