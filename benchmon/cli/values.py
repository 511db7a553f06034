"""Values people type on the command line: durations, tags, numbers with a sensible range."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from math import isfinite
from pathlib import Path

from benchmon.model.durations import seconds_of
from benchmon.plain_text import one_line


def duration_s(text: str) -> float:
    """``90``, ``90s``, ``1.5m``, ``2h`` → seconds.

    Raises:
        argparse.ArgumentTypeError: if it is no duration.

    >>> duration_s("1.5m")
    90.0
    """
    seconds = seconds_of(text)
    if seconds is None:
        raise argparse.ArgumentTypeError(f"{text[:60]!r} is no duration; write 90s, 10m or 1h")
    return seconds


def duration_between(least_s: float, most_s: float) -> Callable[[str], float]:
    """A parser of durations that refuses those outside [least, most]."""

    def parse(text: str) -> float:
        seconds = duration_s(text)
        if not least_s <= seconds <= most_s:
            raise argparse.ArgumentTypeError(f"{text[:60]!r} must lie between {least_s:g} s and {most_s:g} s")
        return seconds

    return parse


def number_between(least: float, most: float, unit: str) -> Callable[[str], float]:
    """A parser of numbers that refuses those outside [least, most]; a trailing unit is allowed."""

    def parse(text: str) -> float:
        bare = text.strip().removesuffix(unit).removesuffix("°").strip()
        try:
            value = float(bare.replace(",", "."))
        except ValueError:
            raise argparse.ArgumentTypeError(f"{text[:60]!r} is not a number in {unit}") from None
        if not isfinite(value) or not least <= value <= most:
            raise argparse.ArgumentTypeError(f"{text[:60]!r} must lie between {least:g} and {most:g} {unit}")
        return value

    return parse


def new_file(text: str) -> Path:
    """A name for a file to be made: neither nothing nor a folder's.

    Raises:
        argparse.ArgumentTypeError: if no file can have it.
    """
    if not text.strip() or text.endswith("/") or Path(text).name in ("", "..") or "\0" in text:
        raise argparse.ArgumentTypeError(f"{text[:60]!r} is no name for a file")
    return Path(text)


def whole_between(least: int, most: int) -> Callable[[str], int]:
    """A parser of whole numbers that refuses those outside [least, most]."""

    def parse(text: str) -> int:
        if not re.fullmatch(r"-?\d{1,15}", text.strip()) or not least <= int(text) <= most:
            raise argparse.ArgumentTypeError(f"{text[:40]!r} must be a whole number between {least} and {most}")
        return int(text)

    return parse


def filled(text: str) -> str:
    """Any words, but some."""
    if not text.strip():
        raise argparse.ArgumentTypeError("it is empty; leave the option out instead")
    return text


def tag(text: str) -> tuple[str, str]:
    """``duct=fitted`` → ("duct", "fitted")."""
    if "\n" in text or "\r" in text:
        raise argparse.ArgumentTypeError("a tag is one line; write key=value, for example duct=fitted")
    key, sign, value = text.partition("=")
    if not sign or not re.fullmatch(r"[A-Za-z][\w.-]*", key.strip()) or not value.strip():
        raise argparse.ArgumentTypeError(f"{text[:60]!r} is no tag; write key=value, for example duct=fitted")
    return key.strip(), one_line(value)
