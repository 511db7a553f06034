"""The one-line prompt: what is asked, what has been typed, and the request it becomes. Never stops the drawing."""

from __future__ import annotations

import re
import shlex
import shutil
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from benchmon.errors import UsageError
from benchmon.model.records import MarkKind

Request = dict[str, object]


class Ask(Enum):
    """What a prompt asks for: its label and an example."""

    PHASE = ("phase", "for example: all cores, lid off")
    WALL = ("watts at the wall", "for example: 53.8")
    ROOM = ("room temperature, °C", "for example: 23.5")
    SCORE = ("score", "for example: 1842 render")
    NOTE = ("note", "any words")
    TAG = ("tag", "for example: duct=fitted")
    LOAD = ("load", "for example: all, one scalar, 2 at 50 %, ./mybench")
    TIME = ("go to", "for example: 3:05 after the start")
    STEP = ("offered", "")
    QUIT = ("leave the screen", "")

    @property
    def label(self) -> str:
        """What is asked for."""
        return self.value[0]

    @property
    def example(self) -> str:
        """How an answer looks."""
        return self.value[1]


MARK_KINDS = {
    Ask.PHASE: MarkKind.PHASE,
    Ask.WALL: MarkKind.WALL,
    Ask.ROOM: MarkKind.ROOM,
    Ask.SCORE: MarkKind.SCORE,
    Ask.NOTE: MarkKind.NOTE,
    Ask.TAG: MarkKind.TAG,
}
"""Prompts that become marks."""
ASKS = {kind: ask for ask, kind in MARK_KINDS.items()}

_AGO = re.compile(r"\s*\b(\d+(?:\.\d+)?)\s*(s|sec|seconds?|min|minutes?)?\s+ago\s*$", re.IGNORECASE)
_TIME = re.compile(r"(?:(?:(\d+):)?(\d+):)?(\d+(?:\.\d+)?)")


class NotUnderstoodError(ValueError):
    """What was typed makes no sense; the message says what was expected."""


@dataclass
class Prompt:
    """A line being typed."""

    ask: Ask
    text: str = ""
    replaces: int | None = None
    """Number of the mark that is being corrected."""
    t_s: float | None = None
    """Time the answer speaks of, where it is not now [s]."""
    of: str = ""
    """That time in words, where it is told."""

    def type(self, letter: str) -> None:
        """Add a letter."""
        self.text += letter

    def rub_out(self) -> None:
        """Take the last letter away."""
        self.text = self.text[:-1]


def mark_request(prompt: Prompt) -> Request:
    """The request a finished prompt becomes; ``10 s ago`` at the end sets it back.

    Raises:
        NotUnderstoodError: if the text makes no sense for what was asked.
    """
    text, ago_s = split_ago(prompt.text.strip())
    kind = MARK_KINDS[prompt.ask]
    request: Request = {"do": "mark", "kind": kind.value, "text": "", "value": None, "replaces": prompt.replaces}
    if ago_s is not None:
        request["ago_s"] = ago_s
    elif prompt.t_s is not None:
        request["t_s"] = prompt.t_s
    if not text:
        raise NotUnderstoodError("nothing was written")
    if kind in {MarkKind.WALL, MarkKind.ROOM, MarkKind.SCORE}:
        number, _, rest = text.partition(" ")
        request["value"] = _number(number)
        request["text"] = rest.strip() if kind is MarkKind.SCORE else ""
    elif kind is MarkKind.TAG:
        key, sign, value = (part.strip() for part in text.partition("="))
        if not (key and sign and value):
            raise NotUnderstoodError("a tag looks like this: duct=fitted")
        request["text"] = f"{key}={value}"
    else:
        request["text"] = text
    return request


def split_ago(text: str) -> tuple[str, float | None]:
    """Text without its ending ``10 s ago``, and those seconds; None where there is none.

    >>> split_ago("all cores, 10 s ago")
    ('all cores', 10.0)
    """
    found = _AGO.search(text)
    if found is None:
        return text, None
    seconds = float(found[1]) * (60.0 if (found[2] or "s").lower().startswith("min") else 1.0)
    return text[: found.start()].strip().rstrip(",;").strip(), seconds


def load_request(text: str) -> Request:
    """The request to start a load, from ``all``, ``one scalar``, ``2 at 50 %``, or a command: ``./mybench --quick``.

    Raises:
        NotUnderstoodError: if it is none of these.
    """
    from benchmon.stream.load_words import parse_load  # noqa: PLC0415  (a recording's options: no replay needs them)
    from benchmon.stream.options import CommandChoice  # noqa: PLC0415

    words = " ".join(text.lower().split()) or "all"
    try:
        parse_load(words, command=CommandChoice(("the recorder's own",)))
    except UsageError as error:
        argv = _command_words(text)  # asked last: a program may be called what a load is called
        if not argv:
            raise NotUnderstoodError(f"{error.message}; a load looks like this: all, or a command: ./mybench") from None
        return {"do": "load_start", "argv": argv}
    return {"do": "load_start", "load": words}


def load_words(request: Request) -> str:
    """What was asked for: ``one scalar``, or the command's name."""
    argv = request.get("argv")
    return Path(str(argv[0])).name if isinstance(argv, list) else str(request["load"])


def _command_words(text: str) -> list[str]:
    """The words of a command that there is, its own one found from here; empty if it names none."""
    try:
        words = shlex.split(text)
    except ValueError as error:
        raise NotUnderstoodError(f"the quotes do not close ({error})") from None
    if not words or shutil.which(words[0]) is None:
        if words and "/" in words[0]:
            raise NotUnderstoodError(f"there is no command {words[0]}")
        return []
    name = str(Path(words[0]).absolute()) if "/" in words[0] else words[0]
    return [str(Path(name).expanduser()), *words[1:]]


def session_time(text: str) -> float:
    """Seconds since the start, from ``3:05``, ``1:02:03`` or ``185``.

    Raises:
        NotUnderstoodError: if it is no such time.
    """
    found = _TIME.fullmatch(text.strip())
    if found is None:
        raise NotUnderstoodError("a time looks like this: 3:05")
    return int(found[1] or 0) * 3600.0 + int(found[2] or 0) * 60.0 + float(found[3])


def _number(text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise NotUnderstoodError(f"“{text}” is no number") from None
