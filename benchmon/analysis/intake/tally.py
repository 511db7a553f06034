"""Statistics of every channel over a run of samples, kept so that neighbours can be put together exactly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from benchmon.model.findings import Spread
from benchmon.model.records import Sample


@dataclass(frozen=True, slots=True)
class Tally:
    """Sums of some samples; columns as in the header, a column is None where nothing was read."""

    first_s: float
    last_s: float
    spreads: tuple[Spread | None, ...]
    energy_j: float
    """Package energy over ``covered_s`` [J]."""
    covered_s: float
    """Time for which power was read [s]."""


def tally(samples: Sequence[Sample], before_s: float | None, power_column: int | None, gap_s: float) -> Tally:
    """Sum up samples that follow one another; at least one.

    Args:
        samples: in order of time.
        before_s: time of the sample before the first [s]; None if there is none.
        power_column: where package power is; None if it is not read.
        gap_s: a longer step between samples is a gap and covers nothing [s].

    Power is a mean over the time since the sample before it (energy counters), so energy = Σ power · step.
    """
    columns = zip(*[sample.values for sample in samples], strict=True)
    spreads = tuple([_spread(column) for column in columns])
    energy = covered = 0.0
    if power_column is not None:
        last_s = before_s
        for sample in samples:
            watts = sample.values[power_column]
            if watts is not None and last_s is not None and 0.0 < sample.t_s - last_s <= gap_s:
                energy += watts * (sample.t_s - last_s)
                covered += sample.t_s - last_s
            last_s = sample.t_s
    return Tally(samples[0].t_s, samples[-1].t_s, spreads, energy, covered)


def _spread(column: Sequence[float | None]) -> Spread | None:
    values = [value for value in column if value is not None] if None in column else cast("Sequence[float]", column)
    if not values:
        return None
    return Spread(sum(values) / len(values), min(values), max(values), values[-1], len(values))


def join(tallies: Sequence[Tally]) -> Tally:
    """Put neighbours together, in order of time; at least one."""
    columns = zip(*(each.spreads for each in tallies), strict=True)
    return Tally(
        tallies[0].first_s,
        tallies[-1].last_s,
        tuple(_joined([spread for spread in column if spread is not None]) for column in columns),
        sum(each.energy_j for each in tallies),
        sum(each.covered_s for each in tallies),
    )


def _joined(spreads: list[Spread]) -> Spread | None:
    if len(spreads) < 2:
        return spreads[0] if spreads else None
    count = sum(spread.count for spread in spreads)
    return Spread(
        sum(spread.mean * spread.count for spread in spreads) / count,
        min(spread.least for spread in spreads),
        max(spread.greatest for spread in spreads),
        spreads[-1].last,
        count,
    )
