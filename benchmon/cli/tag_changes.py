"""Tags that were mistyped: their keys renamed, or taken away, in one session or in many."""

from __future__ import annotations

import argparse
from collections.abc import Mapping

from benchmon.errors import UsageError
from benchmon.model.records import Mark, MarkKind, Session
from benchmon.model.valid_marks import ValidMarks
from benchmon.plain_text import one_line
from benchmon.views.tui.prompts import Request


def renaming(text: str) -> tuple[str, str]:
    """The old key and the new one, for argparse."""
    old, sign, new = (part.strip() for part in one_line(text).partition("="))
    if not (old and sign and new) or "=" in new or old == new:
        raise argparse.ArgumentTypeError(f"{text[:60]!r} is no renaming; write the old key and the new: psate=paste")
    return old, new


def tag_key(text: str) -> str:
    """The key of a tag, for argparse."""
    key = one_line(text).strip()
    if not key or "=" in key:
        raise argparse.ArgumentTypeError(f"{text[:60]!r} is no key of a tag; write it without its value: psate")
    return key


def tag_requests(session: Session, rename: tuple[str, str] | None, drop: str | None) -> list[Request]:
    """What has to be entered so that a tag has another key, or is gone.

    The new tag comes first: whoever is interrupted has both, and loses nothing.

    Raises:
        UsageError: if the session has no such tag, or has the new one already with another value.
    """
    tags = _tags(session)
    old = drop if rename is None else rename[0]
    if old not in tags:
        raise UsageError(f"it has no tag “{old}”", _what_there_is(tags))
    texts = [f"{old}="]
    if rename is not None:
        new, value = rename[1], tags[old]
        if tags.get(new, value) != value:
            raise UsageError(
                f"it has {old}={value} and {new}={tags[new]} already",
                f"See which of the two is right, then use --drop-tag {old}, or --tag {new}=….",
            )
        if new not in tags:
            texts.insert(0, f"{new}={value}")
    return [{"do": "mark", "kind": MarkKind.TAG.value, "text": text} for text in texts]


def _tags(session: Session) -> dict[str, str]:
    marks = ValidMarks()
    for record in session.records:
        if isinstance(record, Mark):
            marks.feed(record)
    return marks.tags(session.header.tags)


def _what_there_is(tags: Mapping[str, str]) -> str:
    return f"Its tags are: {', '.join(tags)}." if tags else "It has no tags."
