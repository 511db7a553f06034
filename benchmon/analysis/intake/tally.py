"""Statistics of every channel over a run of samples, kept so that neighbours can be put together exactly."""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from benchmon.model.findings import Spread
from benchmon.model.records import Sample

_EACH = 5
"""Count, mean, least, greatest and last of a column; all 0 where nothing was read."""


@dataclass(frozen=True, slots=True)
class Tally:
    """Sums of some samples; columns as in the header."""

    first_s: float
    last_s: float
    numbers: array[float]
    """``_EACH`` of every column: a screen keeps hundreds of tallies, and objects are five times as large."""
    energy_j: float
    """Package energy over ``covered_s`` [J]."""
    covered_s: float
    """Time for which power was read [s]."""

    @property
    def spreads(self) -> tuple[Spread | None, ...]:
        """Statistics of each column; None where nothing was read."""
        return tuple(_spread_at(self.numbers, at) for at in range(0, len(self.numbers), _EACH))


def tally(samples: Sequence[Sample], before_s: float | None, power_column: int | None, gap_s: float) -> Tally:
    """Sum up samples that follow one another; at least one.

    Args:
        samples: in order of time.
        before_s: time of the sample before the first [s]; None if there is none.
        power_column: where package power is; None if it is not read.
        gap_s: a longer step between samples is a gap and covers nothing [s].

    Power is a mean over the time since the sample before it (energy counters), so energy = Σ power · step.
    """
    numbers = array("d")
    for column in zip(*[sample.values for sample in samples], strict=True):
        numbers.extend(_numbers(column))
    energy = covered = 0.0
    if power_column is not None:
        last_s = before_s
        for sample in samples:
            watts, t_s = sample.values[power_column], sample.t_s
            if watts is not None and last_s is not None and 0.0 < t_s - last_s <= gap_s:
                energy += watts * (t_s - last_s)
                covered += t_s - last_s
            last_s = t_s
    return Tally(samples[0].t_s, samples[-1].t_s, numbers, energy, covered)


def _numbers(column: Sequence[float | None]) -> Sequence[float]:
    values: Sequence[Any] = [value for value in column if value is not None] if None in column else column
    if not values:
        return (0.0,) * _EACH
    return (len(values), sum(values) / len(values), min(values), max(values), values[-1])


def _spread_at(numbers: array[float], at: int) -> Spread | None:
    count, mean, least, greatest, last = numbers[at : at + _EACH]
    return Spread(mean, least, greatest, last, int(count)) if count else None


def join(tallies: Sequence[Tally]) -> Tally:
    """Put neighbours together, in order of time; at least one."""
    parts = [each.numbers for each in tallies]
    numbers = array("d")
    for at in range(0, len(parts[0]), _EACH):
        numbers.extend(_joined([part for part in parts if part[at]], at))
    return Tally(
        tallies[0].first_s,
        tallies[-1].last_s,
        numbers,
        sum(each.energy_j for each in tallies),
        sum(each.covered_s for each in tallies),
    )


def _joined(parts: list[array[float]], at: int) -> Sequence[float]:
    """The numbers of one column over parts in which it was read."""
    if len(parts) < 2:
        return parts[0][at : at + _EACH] if parts else (0.0,) * _EACH
    count = sum([part[at] for part in parts])
    return (
        count,
        sum([part[at + 1] * part[at] for part in parts]) / count,
        min([part[at + 2] for part in parts]),
        max([part[at + 3] for part in parts]),
        parts[-1][at + 4],
    )
