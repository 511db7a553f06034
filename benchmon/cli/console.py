"""Text to standard output, whatever its encoding can show."""

from __future__ import annotations

import sys

from benchmon.views.numbers import plain_ascii


def shows_utf8() -> bool:
    """Whether standard output can show °, ± and →."""
    try:
        "°±→–".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def write_text(text: str) -> None:
    """Print; in plain ASCII where the output can show no more."""
    sys.stdout.write(text if shows_utf8() else plain_ascii(text))
    sys.stdout.flush()
