"""What was recorded beside the readings, in sentences: load changes, entries, gaps, channels lost."""

from __future__ import annotations

from collections.abc import Collection

from benchmon.model import keys
from benchmon.model.box_parts import PARTS, TAG_PREFIX
from benchmon.model.records import ChannelState, Gap, LoadAction, LoadChange, Mark, MarkKind
from benchmon.model.units import Unit
from benchmon.views.numbers import NOT_READ, duration, plain, quantity

_MATTERS = {keys.CLOCK: "clock", keys.PACKAGE_POWER: "package power", keys.PROCESSOR_TEMP: "temperature"}


def missing_words(there: Collection[str]) -> list[str]:
    """Which of the quantities that matter most are not among these channel keys, in words."""
    return [word for key, word in _MATTERS.items() if key not in there]


def load_sentence(record: LoadChange) -> str:
    """What happened to the load: ``Load started: scalar arithmetic on all 2 cores``."""
    because = f" ({record.reason})" if record.reason else ""
    match record.action:
        case LoadAction.STARTED:
            return f"Load started: {record.what}{because}."
        case LoadAction.STOPPED:
            return f"Load stopped: {record.what}{because}."
        case LoadAction.EXITED:
            status = "" if record.exit_status is None else f" with status {record.exit_status}"
            return f"Load ended by itself{status}: {record.what}{because}."
        case LoadAction.FAILED:
            return f"Load could not be started: {record.what}{because}."


def mark_sentence(mark: Mark, *, listed: bool = False) -> str:
    """What was entered, in words: ``Wall reading 53.8 W``.

    Args:
        mark: the entry.
        listed: it stands beside the time it speaks of, which need not be said again.
    """
    ago = mark.entered_s - mark.t_s
    back = f" (from {duration(mark.t_s)})" if ago >= 1 and not listed else ""
    corrected = f", in place of entry {mark.replaces}" if mark.replaces is not None else ""
    match mark.kind:
        case MarkKind.PHASE:
            text = f"Phase: {mark.text}"
        case MarkKind.WALL:
            text = f"Wall reading {quantity(mark.value, Unit.WATT)}"
        case MarkKind.ROOM:
            text = f"Room temperature {quantity(mark.value, Unit.CELSIUS)}"
        case MarkKind.SCORE:
            text = f"Score {NOT_READ if mark.value is None else f'{mark.value:g}'} {mark.text}".rstrip()
        case MarkKind.NOTE:
            text = f"Note: {mark.text}"
        case MarkKind.TAG:
            text = _tag_words(mark.text)
        case MarkKind.WITHDRAW:
            return f"Entry {mark.replaces} withdrawn."
    return f"{text}{corrected}{back}."


def _tag_words(text: str) -> str:
    """``Tag duct=fitted``; a part of the box by its own name: ``Power supply: 90 W brick``."""
    key, sign, value = text.partition("=")
    if sign and not value:
        return f"Tag {key} taken away"
    part = PARTS.get(key.removeprefix(TAG_PREFIX), "") if key.startswith(TAG_PREFIX) else ""
    return f"{part[:1].upper()}{part[1:]}: {value}" if part else f"Tag {text}"


def gap_sentence(gap: Gap) -> str:
    """A hole in the samples: ``No samples for 4.2 s from 1:30 (the machine slept)``."""
    why = {"late": "the recorder was not let run", "suspend": "the machine slept", "missing": "missing in the table"}
    seconds = plain(gap.end_s - gap.start_s, 1)
    return f"No samples for {seconds} s from {duration(gap.start_s)} ({why.get(gap.reason, gap.reason)})."


def channel_sentence(state: ChannelState, label: str) -> str:
    """A channel lost or back: ``processor temperature is not read: device gone``."""
    if state.readable:
        return f"{label} is read again."
    return f"{label} is not read: {state.reason or 'no reason given'}."
