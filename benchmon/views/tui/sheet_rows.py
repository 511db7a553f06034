"""The bench sheet: a row for each phase; the one that lasts fills in while it lasts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, PhaseFindings, Settling, Spread
from benchmon.views.numbers import NOT_READ, duration, plain
from benchmon.views.tui.look import Look, Row, cut, fit, width_of
from benchmon.views.words import CAUSE_WORDS


@dataclass(frozen=True, slots=True)
class Context:
    """What a row needs besides its phase."""

    now_s: float
    events: Mapping[int, ThrottleEvent]


@dataclass(frozen=True, slots=True)
class _Column:
    heading: str
    cell: Callable[[PhaseFindings, Context], str]
    width: int
    keep: int
    """The lower, the longer it is kept on a narrow terminal."""
    to_left: bool = False


def sheet_rows(phases: Sequence[PhaseFindings], context: Context, width: int, rows: int, look: Look) -> list[Row]:
    """Heading and the newest phases, as many as fit in ``rows`` lines; empty lines below where there are fewer."""
    columns = _that_fit(phases, context, width)
    lines = [fit([("dim", _line([_heading(column, look) for column in columns]))], width, look)]
    newest = phases[-(rows - 1) :] if rows > 1 else []
    for phase in newest:
        cells = [_aligned(column, column.cell(phase, context), look) for column in columns]
        lasting = phase.end_s is None
        pointer = look.sign("▸", ">") if lasting else " "
        lines.append(fit([("strong" if lasting else "plain", pointer + _line(cells)[1:])], width, look))
    if not phases and rows > 1:
        lines.append(
            fit([("plain", "  No phase yet. Mark what you are doing with a key, and its row fills in.")], width, look)
        )
    return (lines + [fit([], width, look)] * rows)[:rows]


def _that_fit(phases: Sequence[PhaseFindings], context: Context, width: int) -> list[_Column]:
    filled = [
        column
        for column in _COLUMNS
        if column.keep < 3 or any(column.cell(phase, context) not in (NOT_READ, "") for phase in phases)
    ]
    while len(filled) > 2 and sum(column.width + 2 for column in filled) > width:
        filled.remove(max(filled, key=lambda column: column.keep))
    spare = width - sum(column.width + 2 for column in filled)
    return [*filled[:-1], replace(filled[-1], width=filled[-1].width + max(spare, 0))]


def _line(cells: Sequence[str]) -> str:
    return "  " + "  ".join(cells)


def _heading(column: _Column, look: Look) -> str:
    return _aligned(column, column.heading, look)


def _aligned(column: _Column, text: str, look: Look) -> str:
    shown = cut(look.text(text), column.width)
    blanks = " " * max(column.width - width_of(shown), 0)
    return shown + blanks if column.to_left else blanks + shown


def _length(phase: PhaseFindings, context: Context) -> str:
    return duration((context.now_s if phase.end_s is None else phase.end_s) - phase.start_s)


def _mean(key: str, decimals: int, factor: float = 1.0) -> Callable[[PhaseFindings, Context], str]:
    def cell(phase: PhaseFindings, _: Context) -> str:
        spread: Spread | None = phase.means.get(key)
        return plain(None if spread is None else spread.mean * factor, decimals)

    return cell


def _last_temp(phase: PhaseFindings) -> float | None:
    spread = phase.means.get(keys.PROCESSOR_TEMP)
    return None if spread is None else spread.last


def _temp(phase: PhaseFindings, _: Context) -> str:
    return plain(_last_temp(phase), 1)


def _rise(phase: PhaseFindings, _: Context) -> str:
    temp = _last_temp(phase)
    return plain(None if temp is None or phase.room_c is None else temp - phase.room_c, 1)


def _resistance(phase: PhaseFindings, _: Context) -> str:
    figure: Figure = phase.resistance_k_per_w
    return plain(figure.value, 2)


def _score(phase: PhaseFindings, _: Context) -> str:
    return NOT_READ if phase.score is None else f"{phase.score:g} {phase.score_name}".rstrip()


def _settled(phase: PhaseFindings, _: Context) -> str:
    settling: Settling | None = phase.settling.get(keys.PROCESSOR_TEMP)
    if settling is None or settling.settled is None:
        return NOT_READ
    if settling.settled:
        return "yes" if settling.settled_at_s is None else f"at {duration(settling.settled_at_s)}"
    return "not yet" if settling.remaining is None else f"still {plain(settling.remaining, 1)} K"


def _held(phase: PhaseFindings, context: Context) -> str:
    """Causes and how long each held the processor back within the phase."""
    seconds: dict[str, float] = {}
    phase_end = context.now_s if phase.end_s is None else phase.end_s
    for number in phase.events:
        event = context.events.get(number)
        if event is None:
            continue
        end = context.now_s if event.end_s is None else event.end_s
        within = max(min(end, phase_end) - max(event.start_s, phase.start_s), 0.0)
        word = CAUSE_WORDS[event.cause]
        seconds[word] = seconds.get(word, 0.0) + within
    return ", ".join(f"{word} {duration(length)}" for word, length in seconds.items()) or NOT_READ


_COLUMNS = (
    _Column("phase", lambda phase, _: phase.name, 14, 0, to_left=True),
    _Column("length", _length, 7, 1),
    _Column("clock GHz", _mean(keys.CLOCK, 2, 0.001), 9, 2),
    _Column("package W", _mean(keys.PACKAGE_POWER, 1), 9, 2),
    _Column("wall W", lambda phase, _: plain(phase.wall_w, 1), 7, 5),
    _Column("temp. °C", _temp, 10, 2),
    _Column("rise K", _rise, 6, 4),
    _Column("K per W", _resistance, 7, 3),
    _Column("work/s", _mean(keys.WORK_RATE, 1), 7, 7),
    _Column("score", _score, 12, 8),
    _Column("settled", _settled, 11, 6),
    _Column("held back by", _held, 13, 2, to_left=True),
)
