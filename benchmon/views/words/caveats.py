"""What a reader must know before trusting a sheet, in sentences."""

from __future__ import annotations

from benchmon.model import keys
from benchmon.model.findings import Summary
from benchmon.views.words.records import missing_words


def doubts(summary: Summary) -> tuple[str, ...]:
    """What a reader must know before trusting the sheet."""
    lines = list(summary.quality.notes)
    missing = missing_words({channel.key for channel in summary.header.channels})
    if missing:
        lines.append(f"Not in this recording: {', '.join(missing)}.")
    lines += [f"{key} was not read: {why}." for key, why in summary.quality.unread.items()]
    return tuple(lines)


def no_events(summary: Summary) -> str:
    """What is said where there is no event; nothing was looked for where nothing could be seen."""
    seen = {key for phase in summary.phases for key in phase.means}
    if seen & {keys.CLOCK, keys.WORK_RATE}:
        return "None: nothing in this recording looks like throttling."
    return "None can be found: neither clock nor work rate was read."
