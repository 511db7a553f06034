"""The built-in work and its rates, in words and short figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchmon.model import keys
from benchmon.model.findings import PhaseFindings, WorkDone
from benchmon.model.records import LoadChange
from benchmon.model.units import Unit
from benchmon.model.work_kinds import FLOATING_KINDS, work_words
from benchmon.views.numbers import NOT_READ, plain, quantity

if TYPE_CHECKING:
    from benchmon.model.comparison import WorkUnit

SEVERAL = "several"
"""In place of a kind, where there was more than one."""


def kind_in_short(work: WorkDone | None) -> str:
    """``widest``, ``memory at 50 %``; ``–`` where no built-in work ran."""
    if work is None:
        return NOT_READ
    return SEVERAL if work.is_mixed else work_words(work.kind, work.duty)


def units_per_s(phase: PhaseFindings) -> float | None:
    """Units of work a second, where it is not known how large a unit is; else None."""
    work, rate = phase.work, phase.means.get(keys.WORK_RATE)
    is_sized = work is not None and (work.operations_g_per_s is not None or work.moved_gb_per_s is not None)
    return None if rate is None or is_sized else rate.mean


def rate_in_short(phase: PhaseFindings) -> str:
    """``71.9 GFlop/s``, ``3.1 GB/s``; of a mixture the arithmetic; units a second where their size is not known."""
    work = phase.work
    if work is None or (work.operations_g_per_s is None and work.moved_gb_per_s is None):
        return quantity(units_per_s(phase), Unit.PER_SECOND)
    return in_billions(work.kind, work.operations_g_per_s, work.moved_gb_per_s)


def in_billions(kind: str, operations_g_per_s: float | None, moved_gb_per_s: float | None) -> str:
    """The rate with its unit."""
    rate = moved_gb_per_s if operations_g_per_s is None else operations_g_per_s
    return billions(rate, rate_unit(kind, operations_g_per_s))


def billions(rate: float | None, unit: str) -> str:
    """``71.9 GFlop/s``, ``3.12 GB/s``: the same digits in tables, sentences and beside the strips; ``–`` for None."""
    return NOT_READ if rate is None else f"{in_digits(rate)} {unit}"


def in_digits(rate: float) -> str:
    """The same without its unit."""
    return plain(rate, 1 if rate >= 10 else 2)


def rate_unit(kind: str, operations: float | None) -> str:
    """The unit of a rate in billions; ``operations`` is None for work that only moves bytes."""
    if operations is None:
        return "GB/s"
    return "GFlop/s" if kind in FLOATING_KINDS else "Gop/s"


def unit_of_rate(unit: WorkUnit) -> tuple[str, float]:
    """The sheet's unit of a work rate, and how many units of work a second make one of it."""
    size = unit.moved_bytes if unit.operations is None else unit.operations
    return rate_unit(unit.kind, unit.operations), 1e9 / (size or 1e9)


def rate_now(per_s: float | None, load: LoadChange | None) -> str:
    """A rate that was just read, in the units of the load that runs."""
    sizes = (None, None) if load is None else (load.unit_operations, load.unit_bytes)
    if per_s is None or load is None or sizes == (None, None):
        return quantity(per_s, Unit.PER_SECOND)
    operations, moved = (None if size is None else per_s * size / 1e9 for size in sizes)
    return in_billions(load.work, operations, moved)
