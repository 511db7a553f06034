"""Names of session files: when, and what was special about the run."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import datetime

SUFFIX = ".session.jsonl"
PACKED = ".gz"
"""Follows ``SUFFIX`` where the session is packed."""
MOST_CHARACTERS = 120
"""Without the suffix; every file system takes this much."""


def session_file_name(started_at: datetime, tags: Mapping[str, str]) -> str:
    """File name of a session; sorts by time, and any file system takes it.

    Args:
        started_at: in the time zone that the name shall show (``astimezone()`` for the user's own).
        tags: what is special about the run; letters beyond ASCII lose their accents, anything else becomes ``-``.

    >>> session_file_name(datetime(2026, 11, 25, 13, 10), {"paste": "fresh", "lid": "off"})
    '2026-11-25_1310_paste-fresh_lid-off.session.jsonl'
    """
    words = [_plain(f"{key}-{value}") for key, value in tags.items()]
    stem = "_".join([started_at.strftime("%Y-%m-%d_%H%M"), *filter(None, words)])
    return stem[:MOST_CHARACTERS].rstrip("-_.") + SUFFIX


def _plain(words: str) -> str:
    letters = unicodedata.normalize("NFKD", words.casefold()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9.]+", "-", letters).strip("-.")


def bare_name(file_name: str) -> str:
    """The name of a session without what its files end in.

    >>> bare_name("2026-11-25_1310.session.jsonl.gz")
    '2026-11-25_1310'
    """
    return file_name.removesuffix(PACKED).removesuffix(SUFFIX)
