"""Whether a phase's load contradicts its name: ``idle at 60 % load``."""

from __future__ import annotations

import re

from benchmon.model import keys, phase_names
from benchmon.model.findings import PhaseFindings

BUSY_PCT = 25.0
"""An idle machine is less busy than this [%]; common practice, no source."""
FREE_PCT = 40.0
"""With all cores at work it is more busy than this: one of each two threads gives 50 [%]."""
_SPARE_CORES = 1.0
"""So many cores more than the name says may be at work: other programs, the kernel."""
_LEAST_SHARE = 0.5
_LEAST_S = 5.0
_CORES = re.compile(r"(\d{1,5}) cores(?: \(\d+\))?")


def contradiction(row: PhaseFindings, end_s: float, processors: int | None) -> str:
    """The name with the load that contradicts it; empty if it does not, or if that cannot be told.

    Args:
        row: the phase.
        end_s: when it ended, or now [s].
        processors: logical processors over which the load is shared out; None = not known.
    """
    load = row.means.get(keys.LOAD)
    if load is None or end_s - row.start_s < _LEAST_S:
        return ""
    least, most = _expected(re.sub(r" \(\d+\)$", "", row.name), processors)
    return "" if least <= load.mean <= most else f"{row.name} at {load.mean:.0f} % load"


def _expected(name: str, processors: int | None) -> tuple[float, float]:
    """Between which loads a phase of that name lies [%]."""
    if name in {phase_names.IDLE, phase_names.COOL_DOWN}:
        return 0.0, BUSY_PCT
    if name == phase_names.ALL_CORES:
        return FREE_PCT, 100.0
    found = _CORES.fullmatch(name)
    cores = 1 if name == phase_names.ONE_CORE else int(found[1]) if found else 0
    if not cores or not processors or cores > processors:
        return 0.0, 100.0
    return 100.0 * _LEAST_SHARE * cores / processors, min(100.0 * (cores + _SPARE_CORES) / processors, 100.0)
