"""What a reader must know before trusting a sheet, in sentences."""

from __future__ import annotations

from collections import Counter

from benchmon.model import keys
from benchmon.model.findings import Summary
from benchmon.views.numbers import NOT_READ
from benchmon.views.words.records import missing_words

MOST_NAMED = 12


def doubts(summary: Summary) -> tuple[str, ...]:
    """What a reader must know before trusting the sheet."""
    lines = list(summary.quality.notes)
    missing = missing_words({channel.key for channel in summary.header.channels})
    if missing:
        lines.append(f"Not in this recording: {', '.join(missing)}.")
    lines += [f"{key} was not read: {why}." for key, why in summary.quality.unread.items()]
    lines += [
        f"A phase that is not what it is called: {phase.contradiction}."
        for phase in summary.phases
        if phase.contradiction
    ]
    lines += settling_not_told(summary)
    return tuple(lines)


def no_events(summary: Summary) -> str:
    """What is said where there is no event; nothing was looked for where nothing could be seen."""
    seen = {key for phase in summary.phases for key in phase.means}
    if seen & {keys.CLOCK, keys.WORK_RATE}:
        return "None found."
    return "Not known: neither clock nor work rate was read."


def settling_not_told(summary: Summary) -> list[str]:
    """Why it cannot be told of some phases whether they settled: ``Settled –: idle, one core: the phase lasted …``."""
    by_reason: dict[str, list[str]] = {}
    for phase in summary.phases:
        settling = phase.settling.get(keys.PROCESSOR_TEMP)
        if phase.end_s is None or phase.sustained is not None:
            continue  # of a throttled one the table says whether its power was steady
        if settling is not None and settling.settled is None and settling.why:
            by_reason.setdefault(settling.why, []).append(phase.name)
    return [f"Settled {NOT_READ} in {_listed(names)}: {why}." for why, names in by_reason.items()]


def _listed(names: list[str]) -> str:
    """``idle, one core``; names that come again once, and no more than can be read: ``idle (960 times), … 40 more``."""
    times = Counter(names)
    told = [name if count == 1 else f"{name} ({count} times)" for name, count in times.items()]
    more = len(told) - MOST_NAMED
    return ", ".join(told if more <= 0 else [*told[:MOST_NAMED], f"and {more} more"])
