"""The tables of phases on a sheet. A throttled phase has two lines: what it ran at first, and what it sustained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from benchmon.model import keys
from benchmon.model.events import Level
from benchmon.model.findings import Figure, PhaseFindings, Spread
from benchmon.model.units import Unit
from benchmon.views.numbers import NOT_READ, duration, half_width, plain
from benchmon.views.words.events import AT_FIRST, SUSTAINED
from benchmon.views.words.own_load import scores_in_short
from benchmon.views.words.settled import STEADY, settled_resistance, steady_word
from benchmon.views.words.work import kind_in_short, rate_in_short

_PHASE_COLUMNS = (
    ("phase", "", ""),
    ("time", "min:s", ""),
    ("clock", "GHz", "mean"),
    ("rated", "%", "mean"),
    ("package", "W", "mean"),
    ("wall", "W", "read"),
    ("temp", "°C", "end"),
    ("temp", "°C", "max"),
    ("rise", "K", "end"),
    ("resist.", "K/W", "fitted"),
    ("settled", "at", ""),
)
_MORE_COLUMNS = (
    ("phase", "", ""),
    ("load", "%", "mean"),
    ("fastest fan", "rpm", "mean"),
    ("work", "", ""),
    ("work rate", "", "mean"),
    ("energy", "Wh", "package"),
    ("score", "", ""),
)
_JOULES_PER_WH = 3600.0


@dataclass(frozen=True, slots=True)
class Table:
    """Headings, units, and how each figure is taken; then rows; all of one length."""

    columns: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    kinds: tuple[str, ...] = ()
    """``mean``, ``end``, ``max``, ``read``, ``fitted``; empty where that goes without saying."""

    def headings(self) -> list[tuple[str, str]]:
        """One line for each column: ``clock, mean`` and its unit."""
        kinds = self.kinds or ("",) * len(self.columns)
        named = [f"{name}, {kind}" if kind else name for name, kind in zip(self.columns, kinds, strict=True)]
        return list(zip(named, self.units, strict=True))


def phase_table(phases: Sequence[PhaseFindings], recorded_s: float, rated_mhz: float | None) -> Table:
    """A line for each phase; for a throttled one its name, and a line each for at first and sustained.

    Args:
        phases: in order of time.
        recorded_s: how long the recording is [s].
        rated_mhz: rated clock; None if not known [MHz].
    """
    rows: list[tuple[str, ...]] = []
    for phase in phases:
        rows += _rows(phase, recorded_s, rated_mhz)
    return _table(_PHASE_COLUMNS, rows)


def more_table(phases: Sequence[PhaseFindings]) -> Table:
    """What else was read in each phase."""
    return _table(_MORE_COLUMNS, [_more_row(phase) for phase in phases])


def phases_note(phases: Sequence[PhaseFindings]) -> str:
    """What the lines of throttled phases mean, and which figures are not read off but fitted."""
    levels = [phase.sustained for phase in phases if phase.sustained is not None]
    notes = [f"{AT_FIRST}: until it was throttled"] if levels and any(phase.before for phase in phases) else []
    if levels:
        notes.append(f"{SUSTAINED}: mean over the last part of the throttled time")
    if any(level.is_settled for level in levels):
        notes.append(f"{STEADY}: power moved by no more than 2 %")
    if any(settled_resistance(phase).value is not None for phase in phases):
        notes.append("resist.: of phases that settled, from the fit through the whole run")
    return "; ".join(notes)


def events_in_table(phases: Sequence[PhaseFindings]) -> set[int]:
    """Numbers of the events whose clock and power the table has."""
    return {
        number for phase in phases if phase.sustained is not None and len(phase.events) == 1 for number in phase.events
    }


def _table(columns: tuple[tuple[str, str, str], ...], rows: list[tuple[str, ...]]) -> Table:
    """A table without the columns in which nothing was read."""
    kept = [i for i in range(len(columns)) if i == 0 or any(row[i] not in (NOT_READ, "") for row in rows)]
    names, units, kinds = (tuple(columns[i][part] for i in kept) for part in range(3))
    return Table(names, units, tuple(tuple(row[i] for i in kept) for row in rows), kinds)


def _rows(phase: PhaseFindings, recorded_s: float, rated_mhz: float | None) -> list[tuple[str, ...]]:
    end_s = recorded_s if phase.end_s is None else phase.end_s
    name = phase.name if phase.end_s is not None else f"{phase.name} …"
    length, resistance = duration(round(end_s - phase.start_s)), _short(settled_resistance(phase))
    if phase.sustained is None:
        clock, power, temp = (phase.means.get(key) for key in (keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP))
        level = Level(
            phase.start_s,
            end_s,
            clock_mhz=_mean(clock),
            power_w=_mean(power),
            wall_w=phase.wall_w,
            temp_last_c=None if temp is None else temp.last,
            temp_highest_c=None if temp is None else temp.greatest,
        )
        return [(name, length, *_figures(level, phase.room_c, rated_mhz), resistance, _settled(phase))]
    before, sustained = phase.before, phase.sustained
    is_wall_told = sustained.wall_w is not None or (before is not None and before.wall_w is not None)
    wall = "" if is_wall_told or phase.wall_w is None else plain(phase.wall_w, 1)
    told = ("" if text == NOT_READ else text for text in (resistance, _settled(phase)))
    rows: list[tuple[str, ...]] = [(name, length, "", "", "", wall, "", "", "", *told)]
    for label, one, settled in ((AT_FIRST, before, ""), (SUSTAINED, sustained, steady_word(sustained))):
        if one is not None:
            # The time until the onset from the times as they are shown: a reader subtracts one from the other.
            whole_s = int(one.end_s) - int(one.start_s) if one is before else round(one.end_s - one.start_s)
            length = duration(whole_s)
            rows.append((f"  {label}", length, *_figures(one, phase.room_c, rated_mhz), "", settled))
    return rows


def _figures(level: Level, room_c: float | None, rated_mhz: float | None) -> tuple[str, ...]:
    """Clock to rise of one line."""
    clock, last = level.clock_mhz, level.temp_last_c
    return (
        NOT_READ if clock is None else plain(clock / 1000, 2),
        NOT_READ if clock is None or not rated_mhz else plain(100 * clock / rated_mhz, 0),
        plain(level.power_w, 1),
        plain(level.wall_w, 1),
        plain(last, 1),
        plain(level.temp_highest_c, 1),
        plain(None if last is None or room_c is None else last - room_c, 1),
    )


def _more_row(phase: PhaseFindings) -> tuple[str, ...]:
    means = phase.means
    fans = [spread.mean for key, spread in means.items() if key.endswith("_" + Unit.RPM.suffix)]
    energy_j = phase.energy_j.value
    return (
        phase.name,
        plain(_mean(means.get(keys.LOAD)), 0),
        plain(max(fans, default=None), 0),
        kind_in_short(phase.work),
        rate_in_short(phase),
        plain(None if energy_j is None else energy_j / _JOULES_PER_WH, 2),
        scores_in_short(phase),
    )


def _settled(phase: PhaseFindings) -> str:
    settling = phase.settling.get(keys.PROCESSOR_TEMP)
    if settling is None or settling.settled is None:
        return NOT_READ
    if not settling.settled:
        return "no"
    return "yes" if settling.settled_at_s is None else duration(settling.settled_at_s)


def _short(figure: Figure) -> str:
    half = half_width(figure)
    if figure.value is None:
        return NOT_READ
    return plain(figure.value, 2) if half is None else f"{plain(figure.value, 2)}±{plain(half, 2)}"


def _mean(spread: Spread | None) -> float | None:
    return None if spread is None else spread.mean
