"""What the lines of a command's output say by the patterns that a person gave: scores, phases, the version."""

from __future__ import annotations

import re
import signal
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from benchmon.model.usable import number_in
from benchmon.plain_text import one_line

MOST_LINE = 4096
"""Longer lines are cut."""
MOST_SAID = 200
"""So many scores, and so many phases, are taken from one command."""
LONGEST_S = 0.1
"""Processor time that one line may take [s]."""
TOO_MUCH = "too much"
"""What is said of a command that prints without end."""
_STRIKES = 3
_MOST_TEXT = 80
_COLOURS = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
_TWO_WAYS = re.compile(r"[+-]?\d{1,3}[.,']\d{3}")
"""One separator before three digits: 1,842 can be 1842 and 1.842."""


class Said(NamedTuple):
    """One thing that the output said."""

    what: str
    """``score``, ``phase``, ``version``, or ``remark``: something about the reading itself."""
    text: str
    value: float | None = None


class _TooLongError(Exception):
    """A pattern takes too long on a line."""


class OutputLines:
    """Looks at one line after the other. Uses the process's timer of processor time and its signal.

    A pattern can take for ever on a line that was made for it; the timer interrupts it (the matcher looks for signals).

    Args:
        scores: patterns whose group ``score``, else first group, is a number; ``unit`` and ``name`` may be groups.
        phases: patterns that begin a phase, named by their first group, else by what fits.
        version: pattern of the line that tells the version; empty = none.
    """

    def __init__(self, scores: Sequence[str], phases: Sequence[str], version: str) -> None:
        self._patterns = [("score", re.compile(one)) for one in scores] + [("phase", re.compile(one)) for one in phases]
        if version:
            self._patterns.append(("version", re.compile(version)))
        self._slow: dict[re.Pattern[str], int] = {}
        self._counts = {"score": 0, "phase": 0, "version": 0}
        self._phase = ""
        self._names: dict[str, int] = {}
        signal.signal(signal.SIGVTALRM, _interrupt)

    def look(self, line: bytes) -> Iterator[Said]:
        """What one line says."""
        text = _COLOURS.sub("", line[:MOST_LINE].decode("utf-8", "replace"))
        words = "".join(sign if sign.isprintable() else " " for sign in text)
        for what, pattern in tuple(self._patterns):
            try:
                signal.setitimer(signal.ITIMER_VIRTUAL, LONGEST_S)
                found = pattern.search(words)
                signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
            except _TooLongError:
                yield from self._too_slow(what, pattern)
                continue
            if found is not None:
                yield from self._take(what, found)

    def _take(self, what: str, found: re.Match[str]) -> Iterator[Said]:
        if self._counts[what] >= MOST_SAID or (what == "version" and self._counts[what]):
            return
        said = _score(found) if what == "score" else Said(what, _short(found[1] if found.re.groups else found[0]))
        if what == "version":
            said = Said(what, _short(found[1] if found.re.groups else found.string))
        if said.what == "phase":
            if not said.text or said.text == self._phase:
                return
            self._phase = said.text
            self._names[said.text] = count = self._names.get(said.text, 0) + 1
            said = said if count == 1 else Said("phase", f"{said.text} ({count})")
        self._counts[what] += 1
        yield said
        if self._counts[what] == MOST_SAID:
            yield Said("remark", f"more than {MOST_SAID} {what}s were found in the command's output; no more are taken")

    def _too_slow(self, what: str, pattern: re.Pattern[str]) -> Iterator[Said]:
        self._slow[pattern] = self._slow.get(pattern, 0) + 1
        if self._slow[pattern] >= _STRIKES:
            self._patterns.remove((what, pattern))
            shown = one_line(pattern.pattern, _MOST_TEXT)
            yield Said(
                "remark", f"the {what} pattern {shown} takes too long on the command's output; it is not used any more"
            )


def score_number(text: str) -> float | None:
    """The number in what a program printed; None if it is none, or could be two.

    >>> score_number("1 842,5"), score_number("1,234,567"), score_number("1,842")
    (1842.5, 1234567.0, None)
    """
    bare = re.sub(r"(?<=\d)[\s_'](?=\d{3}(?!\d))", "", text.strip())
    if _TWO_WAYS.fullmatch(bare) and "." not in bare:
        return None
    if bare.count(",") and bare.count("."):
        thousands = "," if bare.rindex(".") > bare.rindex(",") else "."
        bare = bare.replace(thousands, "")
    elif bare.count(",") > 1:
        bare = bare.replace(",", "")
    elif bare.count(".") > 1:
        bare = bare.replace(".", "")
    return number_in(bare.replace(",", "."))


def _score(found: re.Match[str]) -> Said:
    """The score with its unit (group ``unit``, else what follows the number) and name (what stands before it)."""
    groups = found.groupdict()
    place = "score" if "score" in groups else 1
    number = found[place] or ""
    value = score_number(number)
    if value is None:
        why = "is no number" if not _TWO_WAYS.fullmatch(number.strip()) else "can be read in two ways"
        return Said("remark", f"a score was not taken: {_short(number)!r} {why}")
    start, end = found.span(place)
    unit = groups.get("unit") or found.string[end : found.end()]
    name = groups.get("name") or found.string[found.start() : start]
    unit, name = _short(unit).strip(" :=-"), _short(name).strip(" :=-")
    return Said("score", f"{unit} ({name})" if unit and name else unit or name, value)


def _short(text: str | None) -> str:
    return one_line(text or "", _MOST_TEXT)


def _interrupt(_number: int, _frame: object) -> None:
    raise _TooLongError
