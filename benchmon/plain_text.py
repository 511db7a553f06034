"""The door for strangers' text: what comes from a file, a table, a sensor, a command line or a name becomes plain here.

Plain text is one line of signs that can be shown: no control sign, none that turns the direction of writing or cannot
be seen, no line end, no half of a sign. Records and errors make every text of theirs plain when they are built
(``model/records.py``, ``errors.py``), so no other text reaches a view; ``views/doors.py`` has the rules of each format.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

MOST_CHARACTERS = 1000
"""Longer texts are cut; nothing that benchmon shows needs more."""
_ODD = re.compile(r"[^ -~]")


def one_line(text: str, most: int = MOST_CHARACTERS) -> str:
    r"""The text as one plain line; runs of blanks become one.

    >>> one_line("paste\x1b[31m = fresh\n# heading\u202e")
    'paste [31m = fresh # heading'
    """
    if len(text) > most:
        text = text[:most] + " …"
    if _ODD.search(text) is not None:
        text = "".join(sign if sign.isprintable() else " " for sign in text)
    elif "  " not in text and text[:1] != " " and text[-1:] != " ":
        return text
    return " ".join(text.split())


def make_plain(record: Any) -> None:
    """Make every text of a dataclass plain, those in a mapping of texts too; called when one is built.

    Args:
        record: just built; may be frozen.
    """
    for field in fields(record):
        value = getattr(record, field.name)
        if value.__class__ is str:
            plain: object = one_line(value)
        elif isinstance(value, Mapping):
            if not all(text.__class__ is str for text in value.values()):
                continue
            plain = {one_line(key): one_line(text) for key, text in value.items()}
        else:
            continue
        if plain != value:
            object.__setattr__(record, field.name, plain)
