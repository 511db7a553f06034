"""A command line in words for people: without what looks like a secret, and with home folders as ``~``.

Sessions are shown to others, so a password that was typed on a command line must not stand in one. What is masked is
what by its name or its look can be a secret; nobody can know all of them, so ``docs/safety.md`` says to keep them out.
"""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Sequence

MASK = "(hidden)"
_HINTS = (
    "pass(?:w(?:or)?d|phrase)?|pwd|secret|token|(?:api|access|private)[_-]?key|\\bkey|auth(?:orization)?"
    "|credentials?|cookie|bearer|signature|session[_-]?id"
)
_NAME = rf"[\w.-]*(?:{_HINTS})[\w.-]*"
_VALUE = r"(?:'[^']*'|\"[^\"]*\"|[^\s'\"&])+"
_ASSIGNED = re.compile(rf"(?i)((?:--?)?{_NAME}\s*[=:]\s*(?:(?:bearer|basic|digest)\s+)?){_VALUE}")
_NEXT = re.compile(rf"(?i)(?<![\w-])(--?{_NAME}\s+)(?!-){_VALUE}")
_IN_ADDRESS = re.compile(r"(\b[a-z][a-z0-9+.-]*://)[^/\s@'\"]+@", re.IGNORECASE)
_LOOKS_RANDOM = re.compile(r"(?<![\w/.+-])(?=[\w+=-]*\d)(?=[\w+=-]*[A-Za-z])[\w+-]{24,}={0,2}(?![\w/.+-])")
_HOME = re.compile(r"(?<![\w.~-])/(?:home|Users)/[^/\s'\"]+(?=/|\s|'|\"|$)|(?<![\w.~/-])/root(?=/|\s|'|\"|$)")


def command_words(argv: Sequence[str]) -> str:
    """The command line as one text.

    >>> command_words(["/home/me/bench", "--token=abc", "--threads", "4"])
    '~/bench --token=(hidden) --threads 4'
    """
    text = shlex.join(argv)
    text = _ASSIGNED.sub(rf"\1{MASK}", text)
    text = _NEXT.sub(rf"\1{MASK}", text)
    text = _IN_ADDRESS.sub(rf"\1{MASK}@", text)
    text = _LOOKS_RANDOM.sub(MASK, text)
    return with_home_short(text)


def with_home_short(text: str) -> str:
    """The text with home folders, one's own above all, as ``~``."""
    own = os.environ.get("HOME", "").rstrip("/")
    if own.startswith("/") and len(own) > 1:
        text = re.sub(rf"(?<![\w.~/-]){re.escape(own)}(?=/|\s|'|\"|$)", "~", text)
    return _HOME.sub("~", text)
