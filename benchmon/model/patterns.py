"""Patterns that a person gives for lines of a command's output: Python's regular expressions."""

from __future__ import annotations

import re

MOST_LETTERS = 500


def pattern_fault(text: str, *, has_number: bool = False) -> str:
    """What is wrong with a pattern; empty if nothing is.

    Args:
        text: the pattern.
        has_number: whether it must have a group, for the number of a score.
    """
    if not text.strip() or len(text) > MOST_LETTERS:
        return f"a pattern has 1 to {MOST_LETTERS} letters"
    try:
        groups = re.compile(text).groups
    except (re.error, OverflowError, RecursionError) as error:
        return f"{text[:60]!r} is no pattern: {error}"
    if has_number and groups < 1:
        return f"{text[:60]!r} has no group for the number; write for example '(\\d+) pts'"
    return ""
