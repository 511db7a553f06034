"""The words by which a load is asked for: ``all``, ``one memory``, ``4 widest at 50 %``, ``command x3``.

The one place where they are understood: options, steps, plans and the screen's prompt all come here.
"""

from __future__ import annotations

import re
from dataclasses import replace

from benchmon.errors import UsageError
from benchmon.model.work_kinds import WIDEST, WORK_KINDS
from benchmon.stream.options import BuiltinChoice, CommandChoice, LoadChoice

COMMAND = re.compile(r"command(?:\s*x\s*([1-9]\d{0,3}))?")
"""``command``, ``command x3``."""
LEAST_DUTY = 0.01
"""Less would be single units far apart."""
_MOST_DIGITS = 5
_DUTY = re.compile(r"(.*?)\s*\bat\s*(\d{1,3}(?:\.\d{1,2})?)\s*(?:%|percent|per cent)", re.DOTALL)
_FORM = f"Write all, one or a number of cores, then if you like {', '.join(WORK_KINDS)}, then if you like at 50 %."


def parse_load(text: str, work: str = WIDEST, command: CommandChoice | None = None) -> LoadChoice:
    """Words → what the load is.

    Args:
        text: the words.
        work: kind of built-in work where the words name none.
        command: what the word ``command`` stands for; None = there is none.

    Raises:
        UsageError: if they cannot be understood.
    """
    if work not in WORK_KINDS:
        raise UsageError(f"there is no work called {work[:40]!r}", f"Choose one of {', '.join(WORK_KINDS)}.")
    words = " ".join(text.lower().split())
    found = COMMAND.fullmatch(words)
    if found is not None:
        if command is None:
            raise UsageError("there is no command to run", "Give it at the end, after --.")
        return command if found[1] is None else replace(command, times=int(found[1]))
    words, duty = _without_duty(words)
    cores, _, kind = words.partition(" ")
    if kind and kind not in WORK_KINDS:
        raise UsageError(f"there is no work called {kind[:40]!r}", f"Choose one of {', '.join(WORK_KINDS)}.")
    return BuiltinChoice(_cores(cores, text), kind or work, duty)


def _without_duty(words: str) -> tuple[str, float]:
    found = _DUTY.fullmatch(words)
    if found is None:
        return words, 1.0
    duty = float(found[2]) / 100.0
    if not LEAST_DUTY <= duty <= 1.0:
        raise UsageError(f"a load cannot work {found[2]} % of the time", "Write 1 % at least, and 100 % at most.")
    return found[1], duty


def _cores(word: str, text: str) -> int | None:
    if word == "all":
        return None
    if word == "one":
        return 1
    if word.isascii() and word.isdigit() and len(word) <= _MOST_DIGITS and int(word) > 0:
        return int(word)
    raise UsageError(f"{text.strip()[:40]!r} is no load", f"{_FORM} A command goes too; in steps also idle.")
