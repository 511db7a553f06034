"""Conditions as they are written in a plan: ``settled``, ``throttled for 60 s``, ``cooled by 60 %``, ``below 45 C``."""

from __future__ import annotations

import re

from benchmon.model.durations import seconds_of
from benchmon.model.plan import LONGEST_S, Condition, ConditionKind

EXAMPLES = "settled, throttled for 60 s, cooled by 60 %, below 45 C, above 80 C, command ended, confirmed"
_PLAIN = {one.value: one for one in (ConditionKind.SETTLED, ConditionKind.COMMAND_ENDED, ConditionKind.CONFIRMED)}
_HELD = re.compile(r"(?:throttled|held back)(?: for (.+))?")
_COOLED = re.compile(r"cooled by (\d+(?:\.\d+)?) ?%")
_TEMP = re.compile(r"(below|above) (-?\d+(?:\.\d+)?) ?°?c", re.IGNORECASE)
_COLDEST_C, _HOTTEST_C = -40.0, 125.0
_LEAST_DEPTH_PCT, _MOST_DEPTH_PCT = 5.0, 95.0


def condition_of(text: str) -> Condition | str:
    """The condition that a text is; else what is wrong with it.

    >>> condition_of("throttled for 60 s")
    Condition(kind=<ConditionKind.HELD_BACK: 'held back'>, value=60.0)
    """
    words = " ".join(text.lower().split())
    if words in _PLAIN:
        return Condition(_PLAIN[words])
    if found := _HELD.fullmatch(words):
        seconds = 0.0 if found[1] is None else seconds_of(found[1])
        if seconds is None or seconds > LONGEST_S:
            return f"{found[1][:40]!r} is no time"
        return Condition(ConditionKind.HELD_BACK, seconds)
    if found := _COOLED.fullmatch(words):
        share = float(found[1])
        if not _LEAST_DEPTH_PCT <= share <= _MOST_DEPTH_PCT:
            return f"cooling by {share:g} % cannot be waited for: 5 to 95 % can"
        return Condition(ConditionKind.COOLED, share)
    if found := _TEMP.fullmatch(words):
        temp_c = float(found[2])
        if not _COLDEST_C <= temp_c <= _HOTTEST_C:
            return f"{temp_c:g} °C is no temperature of a processor at work"
        return Condition(ConditionKind(found[1].lower()), temp_c)
    return f"{text[:40]!r} is no condition: write {EXAMPLES}"


def condition_text(condition: Condition) -> str:
    """The condition as it is written in a plan."""
    value = condition.value or 0.0
    match condition.kind:
        case ConditionKind.HELD_BACK:
            return f"held back for {value:g} s" if value else "held back"
        case ConditionKind.COOLED:
            return f"cooled by {value:g} %"
        case ConditionKind.BELOW | ConditionKind.ABOVE:
            return f"{condition.kind.value} {value:g} C"
        case _:
            return str(condition.kind.value)
