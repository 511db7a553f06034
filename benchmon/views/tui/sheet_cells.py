"""The columns of the bench sheet: heading, and the cell of a phase."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from benchmon.model import keys
from benchmon.model.events import Level, ThrottleEvent
from benchmon.model.findings import PhaseFindings, Settling, Spread
from benchmon.views.numbers import NOT_READ, duration, plain
from benchmon.views.words.evidence import CAUSE_WORDS
from benchmon.views.words.own_load import scores_in_short
from benchmon.views.words.settled import settled_resistance, steady_word
from benchmon.views.words.work import rate_in_short


@dataclass(frozen=True, slots=True)
class Context:
    """What a row needs besides its phase."""

    now_s: float
    events: Mapping[int, ThrottleEvent]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the sheet."""

    heading: str
    cell: Callable[[PhaseFindings, Context], str]
    width: int
    keep: int
    """The lower, the longer it is kept on a narrow terminal."""
    to_left: bool = False


def _length(phase: PhaseFindings, context: Context) -> str:
    """Rounded as on the printed sheet once it is over; while it lasts only whole seconds count."""
    if phase.end_s is None:
        return duration(context.now_s - phase.start_s)
    return duration(round(phase.end_s - phase.start_s))


def _mean(
    key: str, decimals: int, factor: float = 1.0, of_level: Callable[[Level], float | None] | None = None
) -> Callable[[PhaseFindings, Context], str]:
    """The phase's mean; of a throttled phase what it was at first and what was sustained: ``3.50→2.73``."""

    def cell(phase: PhaseFindings, _: Context) -> str:
        if of_level is not None and phase.sustained is not None:
            values = [of_level(level) for level in (phase.before, phase.sustained) if level is not None]
            return "→".join(plain(None if value is None else value * factor, decimals) for value in values)
        spread: Spread | None = phase.means.get(key)
        return plain(None if spread is None else spread.mean * factor, decimals)

    return cell


def _last_temp(phase: PhaseFindings) -> float | None:
    if phase.sustained is not None:
        return phase.sustained.temp_last_c
    spread = phase.means.get(keys.PROCESSOR_TEMP)
    return None if spread is None else spread.last


def _temp(phase: PhaseFindings, _: Context) -> str:
    return plain(_last_temp(phase), 1)


def _rise(phase: PhaseFindings, _: Context) -> str:
    temp = _last_temp(phase)
    return plain(None if temp is None or phase.room_c is None else temp - phase.room_c, 1)


def _resistance(phase: PhaseFindings, _: Context) -> str:
    return plain(settled_resistance(phase).value, 2)


def _score(phase: PhaseFindings, _: Context) -> str:
    return scores_in_short(phase)


def _settled(phase: PhaseFindings, _: Context) -> str:
    if phase.sustained is not None:
        word = steady_word(phase.sustained)
        return word if word == NOT_READ else f"power {word}"
    settling: Settling | None = phase.settling.get(keys.PROCESSOR_TEMP)
    if settling is None or settling.settled is None:
        return NOT_READ
    if settling.settled:
        return "yes" if settling.settled_at_s is None else f"at {duration(settling.settled_at_s)}"
    if settling.remaining is None or not settling.window_s:
        return "not yet"
    per_min = abs(settling.remaining) / settling.window_s * 60.0
    return f"no, {plain(per_min, 1 if per_min >= 1 else 2)} K/min"


def _held(phase: PhaseFindings, context: Context) -> str:
    """Causes and how long each throttled the processor within the phase."""
    seconds: dict[str, int] = {}
    phase_end = context.now_s if phase.end_s is None else phase.end_s
    for number in phase.events:
        event = context.events.get(number)
        if event is None:
            continue
        end = context.now_s if event.end_s is None else event.end_s
        # From the times as they are shown, as the event's own sentence does.
        within = max(int(min(end, phase_end)) - int(max(event.start_s, phase.start_s)), 0)
        word = CAUSE_WORDS[event.cause]
        seconds[word] = seconds.get(word, 0) + within
    return ", ".join(f"{word} {duration(length)}" for word, length in seconds.items()) or NOT_READ


COLUMNS = (
    Column("phase", lambda phase, _: phase.name, 14, 0, to_left=True),
    Column("length", _length, 7, 1),
    Column("clock GHz", _mean(keys.CLOCK, 2, 0.001, lambda level: level.clock_mhz), 10, 2),
    Column("package W", _mean(keys.PACKAGE_POWER, 1, 1.0, lambda level: level.power_w), 10, 2),
    Column("wall W", lambda phase, _: plain(phase.wall_w, 1), 7, 5),
    Column("temp. °C", _temp, 10, 2),
    Column("rise K", _rise, 6, 4),
    Column("K/W", _resistance, 7, 3),
    Column("work", lambda phase, _: rate_in_short(phase), 13, 7),
    Column("score", _score, 12, 8),
    Column("settled", _settled, 14, 6),
    Column("throttled by", _held, 13, 2, to_left=True),
)
