"""Before and sustained: the one place that says what a throttled machine ran at.

A throttled processor comes down for minutes: the parts that store the heat warm up and carry off less and less. A mean
over all of it is a figure of no use; what is asked is what remains. So the sustained values of a throttled stretch are
the means over its later half, and over no more than its last two minutes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchmon.analysis.intake.entered import spread_of
from benchmon.analysis.intake.notebook import Notebook
from benchmon.model.events import Level, ThrottleEvent
from benchmon.model.findings import PhaseFindings
from benchmon.model.records import MarkKind

LONGEST_S = 120.0
"""No more than the last of a stretch is its sustained part [s]."""
LEAST_JUDGED_S = 60.0
"""A sustained part must be so long before it is said whether it had settled [s]: two halves of noisy readings."""
SETTLED_SHARE = 0.02
"""Settled: its two halves differ by no more than this share of the mean; what a wall meter may be wrong by."""
ONE_STRETCH_S = 150.0
"""Teeth and drops so far apart under one load are one throttled stretch [s]."""
LEAST_SHARE = 0.5
"""A phase is a throttled one if the stretch is at least this share of what follows its onset."""


def load_end(notebook: Notebook, start_s: float, end_s: float) -> float:
    """The end of a stretch; the load's own, if a record tells one before it [s]."""
    ends = [step.at_s for step in notebook.tracker.loads if step.busy_cores == 0 and start_s < step.at_s <= end_s]
    return min(ends, default=end_s)


def sustained_level(notebook: Notebook, start_s: float, end_s: float) -> Level | None:
    """The settled part of a throttled stretch; None where nothing was read in it."""
    end_s = load_end(notebook, start_s, end_s)
    return _level(notebook, end_s - min((end_s - start_s) / 2.0, LONGEST_S), end_s)


def with_sustained(event: ThrottleEvent, notebook: Notebook) -> ThrottleEvent:
    """The event with its sustained part, until now while it is open."""
    end_s = notebook.now_s if event.end_s is None else event.end_s
    return replace(event, sustained=sustained_level(notebook, event.start_s, end_s))


def with_levels(row: PhaseFindings, events: Sequence[ThrottleEvent], notebook: Notebook) -> PhaseFindings:
    """The row with what it ran at before it was throttled and sustained; unchanged where no event touches it."""
    mine = [event for event in events if event.number in row.events]
    if not mine:
        return row
    row_end_s = notebook.now_s if row.end_s is None else row.end_s
    first = mine[0]
    after_s = 0.0 if first.from_start else max(first.start_s - row.start_s, 0.0)
    row = replace(row, throttled_after_s=after_s)
    chain = _longest(mine, row.start_s, row_end_s)
    start_s, end_s = _ends(chain, row.start_s, row_end_s)
    if end_s - start_s < LEAST_SHARE * (row_end_s - start_s):
        return row
    last_s = notebook.now_s if chain[0].end_s is None else chain[0].end_s
    is_whole = len(chain) == 1 and chain[0].start_s >= row.start_s and last_s <= row_end_s
    sustained = chain[0].sustained if is_whole else sustained_level(notebook, start_s, end_s)
    return replace(row, before=_before(chain[0], row, notebook), sustained=sustained)


def _before(event: ThrottleEvent, row: PhaseFindings, notebook: Notebook) -> Level | None:
    """What held until the event began: clock and power as the detector compares with them."""
    if event.from_start or event.start_s <= row.start_s:
        return None
    read = _level(notebook, row.start_s, event.start_s)
    return Level(
        start_s=row.start_s,
        end_s=event.start_s,
        clock_mhz=event.clock_before_mhz,
        power_w=event.power_before_w,
        work_per_s=None if read is None else read.work_per_s,
        wall_w=None if read is None else read.wall_w,
        temp_last_c=event.temp_onset_c,
        temp_highest_c=None if read is None else read.temp_highest_c,
    )


def _longest(events: Sequence[ThrottleEvent], start_s: float, end_s: float) -> list[ThrottleEvent]:
    """The events of a phase that belong together and lasted longest."""
    chains: list[list[ThrottleEvent]] = []
    for event in events:
        last_s = None if not chains else chains[-1][-1].end_s
        if chains and last_s is not None and event.start_s - last_s <= ONE_STRETCH_S:
            chains[-1].append(event)
        else:
            chains.append([event])
    return max(chains, key=lambda chain: _length(chain, start_s, end_s))


def _length(chain: Sequence[ThrottleEvent], start_s: float, end_s: float) -> float:
    first, last = _ends(chain, start_s, end_s)
    return last - first


def _ends(chain: Sequence[ThrottleEvent], start_s: float, end_s: float) -> tuple[float, float]:
    """Begin and end of a chain within a phase [s]."""
    last_s = chain[-1].end_s
    return max(chain[0].start_s, start_s), end_s if last_s is None else min(last_s, end_s)


def _level(notebook: Notebook, start_s: float, end_s: float) -> Level | None:
    """Means over a stretch; None where nothing was read."""
    trace = notebook.trace
    clock, power, work, wall, temp = (
        trace.course(name, start_s, end_s).values for name in ("clock_mhz", "power_w", "work_per_s", "wall_w", "temp_c")
    )
    if not (clock or power or work or temp):
        return None
    entered = spread_of([mark for mark in notebook.tracker.marks.of(MarkKind.WALL) if start_s <= mark.t_s <= end_s])
    return Level(
        start_s=start_s,
        end_s=end_s,
        clock_mhz=_mean(clock),
        power_w=_mean(power),
        work_per_s=_mean(work),
        wall_w=_mean(wall) if wall else None if entered is None else entered.mean,
        temp_last_c=temp[-1] if temp else None,
        temp_highest_c=max(temp, default=None),
        is_settled=_is_settled(power or clock or work, end_s - start_s),
    )


def _is_settled(values: Sequence[float], length_s: float) -> bool | None:
    if length_s < LEAST_JUDGED_S or len(values) < 4:
        return None
    half = len(values) // 2
    first, last, mean = _mean(values[:half]), _mean(values[half:]), _mean(values)
    if first is None or last is None or not mean:
        return None
    return abs(last - first) <= SETTLED_SHARE * abs(mean)


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None
