"""What watts to ask for a part with, in words: the option's help and the answer say the same."""

from __future__ import annotations

WHAT_IT_IS = "what the part draws for as long as your load lasts"
NOT_RATED = "Its rated thermal design power is something else: parts draw more or less than that, by load and settings."
HOW_TO_KNOW = (
    "Take the package power that benchmon reads under your load in a machine that has the part, or the sustained power"
    " limit at which it will run."
)


def part_watts_note(part_watts: float) -> str:
    """What the answer was given for, and how to know the number."""
    return f"{part_watts:g} W was taken as {WHAT_IT_IS}. {NOT_RATED} {HOW_TO_KNOW}"
