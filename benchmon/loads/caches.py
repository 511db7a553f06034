"""How large the matrices may be that stay in a core's own caches."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from benchmon.loads.cores import cpu_list

USUAL_SIDE = 128
"""Where the caches are not told: three matrices of this side are 192 KiB; every desktop core of the last fifteen years
has at least 256 KiB of its own (common practice, no source)."""
LEAST_SIDE, MOST_SIDE = 96, 256
STEP = 32
"""Sides are multiples of this: libraries work in blocks of 4 to 16 numbers, and a rest is done by slower code."""
_NUMBER_BYTES = 4
_SHARE = 0.8
"""The rest is for the library's own rearranged copies, the stack and the interpreter."""
_UNITS = {"K": 1024, "M": 1024**2, "G": 1024**3}


def matrix_side(cpus: Sequence[int], root: Path = Path("/")) -> int:
    """Rows of square single-precision matrices of which three stay in the least of these cores' second-level caches.

    A cache that several of the machine's logical processors share counts for each of them by its share, for all of
    them may be busy.
    """
    shares = [share for cpu in cpus if (share := _own_bytes(cpu, root))]
    if not shares:
        return USUAL_SIDE
    side = int((_SHARE * min(shares) / (3 * _NUMBER_BYTES)) ** 0.5)
    return max(LEAST_SIDE, min(MOST_SIDE, side // STEP * STEP))


def _own_bytes(cpu: int, root: Path) -> float | None:
    """A logical processor's share of its second-level cache; None where it is not told."""
    for index in range(8):
        folder = root / f"sys/devices/system/cpu/cpu{cpu}/cache/index{index}"
        try:
            if (folder / "level").read_text(encoding="ascii").strip() != "2":
                continue
            size = (folder / "size").read_text(encoding="ascii").strip()
            sharers = cpu_list((folder / "shared_cpu_list").read_text(encoding="ascii"))
            return float(size[:-1]) * _UNITS[size[-1]] / len(sharers)
        except (OSError, ValueError, KeyError, IndexError):
            continue
    return None
