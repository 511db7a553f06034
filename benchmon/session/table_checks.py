"""Refuses tables whose numbers cannot mean what their headings say: wrong units above all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf
from pathlib import Path

from benchmon.errors import InputError
from benchmon.session.table_file import Table

LONGEST_PERIOD_S = 100.0
"""Rows farther apart cannot show a processor being throttled; such a time column is in milliseconds."""


@dataclass(frozen=True, slots=True)
class _Suspicion:
    """A typical high value outside [least, most] speaks of another unit."""

    least: float
    most: float
    looks_like: Callable[[float], str]
    remedy: str


_TEMPERATURE = _Suspicion(
    -inf, 200, lambda high: "millidegrees" if high > 2000 else "degrees Fahrenheit or kelvin", "Convert it to °C"
)
_POWER = _Suspicion(-inf, 2000, lambda high: "microwatts" if high > 2e6 else "milliwatts", "Convert it to watts")
_CLOCK = _Suspicion(
    20, 20_000, lambda high: "GHz" if high < 20 else ("Hz" if high > 2e7 else "kHz"), "Convert it to MHz"
)
_LOAD = _Suspicion(-inf, 110, lambda _: "the sum over all cores", "Divide it by the number of logical processors")

_SUSPICIONS = {
    "temp_c": _TEMPERATURE,
    "temp_limit_c": _TEMPERATURE,
    "room_c": _TEMPERATURE,
    "power_w": _POWER,
    "wall_w": _POWER,
    "power_limit_w": _POWER,
    "clock_mhz": _CLOCK,
    "load_pct": _LOAD,
}
_MOMENTS = (
    "Times are seconds, 13:10:00, 2026-11-25 13:10:00 or 25.11.2026 13:10:00; of 11/12/2026 it is not sure"
    " which is the day."
)


def check_columns(path: Path, table: Table, needs_one_of: Sequence[str]) -> None:
    """Refuse a table that lacks what is needed.

    Raises:
        InputError: naming the column or the rows at fault.
    """
    if "t_s" not in table.columns:
        raise InputError(
            f"{path} has no column “t_s”; it has {', '.join(table.columns)}.",
            "Say which column is the time, as in --map 'Time=time', or name it t_s.",
        )
    if table.overlong_rows > table.row_count:
        raise InputError(
            f"Most rows of {path} have more cells than its heading has names.",
            "If its numbers have a decimal comma, separate the cells with semicolons.",
        )
    if not any(name in table.columns for name in needs_one_of):
        raise InputError(
            f"{path} has none of the columns {', '.join(needs_one_of)}.",
            "Without one of them nothing can be said about throttling.",
        )
    for name, count in table.not_numbers.items():
        if count == table.row_count:
            odd = table.first_odd_cell[name]
            hint = _MOMENTS if name == "t_s" else ""
            what = "times" if name == "t_s" else "numbers"
            raise InputError(f"Column “{name}” of {path} holds no {what}; its first cell is “{odd}”.", hint)


def check_period(path: Path, period_s: float) -> None:
    """Refuse times that are no seconds.

    Raises:
        InputError: if the rows are typically ``LONGEST_PERIOD_S`` or more apart.
    """
    if period_s >= LONGEST_PERIOD_S:
        raise InputError(
            f"Column “t_s” of {path} grows by {period_s:g} from row to row: it looks like milliseconds.",
            "Tell its unit, as in --map t_s=time:ms.",
        )


def check_unit(path: Path, name: str, numbers: Sequence[float]) -> None:
    """Refuse a column whose numbers speak of another unit.

    What is judged is a high value (nine tenths of the numbers lie below), so a few faulty readings decide nothing.

    Raises:
        InputError: naming the column and what to do.
    """
    suspicion = _SUSPICIONS.get(name)
    if suspicion is None or not numbers:
        return
    high = sorted(numbers)[(len(numbers) - 1) * 9 // 10]
    if suspicion.least <= high <= suspicion.most or high == 0:
        return
    raise InputError(
        f"Column “{name}” of {path} holds numbers like {high:g}: it looks like {suspicion.looks_like(high)}.",
        f"{suspicion.remedy} before importing, or tell its unit, as in --map HEADING={name}:UNIT.",
    )
