"""The kinds of built-in work: what they are called in files, on command lines and in sentences."""

from __future__ import annotations

WIDEST = "widest"
"""Matrix products with the widest instructions the processor has: what heavy numerical and video programs do."""
SCALAR = "scalar"
"""Floating-point arithmetic one number at a time."""
WHOLE = "whole"
"""Products of whole numbers."""
MEMORY = "memory"
"""Copies between places in memory."""
MIXTURE = "mixture"
"""Matrix products and copies in turns."""

KIND_WORDS = {
    WIDEST: "widest arithmetic",
    SCALAR: "scalar arithmetic",
    WHOLE: "whole-number arithmetic",
    MEMORY: "memory copies",
    MIXTURE: "arithmetic and memory copies",
}
"""Kind → its name in sentences."""
WORK_KINDS = tuple(KIND_WORDS)
"""All kinds, the usual one first."""
FLOATING_KINDS = frozenset({WIDEST, SCALAR, MIXTURE})
"""Kinds whose operations are on floating-point numbers."""
WIDE_KINDS = frozenset({WIDEST, MIXTURE})
"""Kinds with wide instructions: many processors take their clock down for them by themselves."""

_FORMER_WORDS = {"matrix work": SCALAR, "integer work": WHOLE, "memory work": MEMORY}
"""How the load's words began in sessions that did not name the kind by itself."""


def kind_named_in(what: str) -> str:
    """The kind of work in the words of a load that did not name it by itself; empty if it is none of ours.

    >>> kind_named_in("matrix work on all 6 cores")
    'scalar'
    """
    return _FORMER_WORDS.get(" ".join(what.split()[:2]), "")


def is_wide(work: str) -> bool:
    """Whether work, as ``work_words`` names it, has wide instructions."""
    return work.partition(" ")[0] in WIDE_KINDS


def work_words(kind: str, duty: float) -> str:
    """The kind and its share of the time: what the same work has in common; empty where the kind is not known.

    >>> work_words("memory", 0.5)
    'memory at 50 %'
    """
    return f"{kind}{duty_words(duty)}" if kind else ""


def duty_words(duty: float) -> str:
    """`` at 50 %``; empty for work without pauses."""
    return "" if duty >= 1.0 else f" at {100.0 * duty:g} %"
