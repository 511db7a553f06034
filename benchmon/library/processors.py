"""The same work on many things, by as many processes as this machine has processors."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from benchmon.errors import MachineError

_Thing = TypeVar("_Thing")
_Found = TypeVar("_Found")


def shared_out(work: Callable[[_Thing], _Found], things: Sequence[_Thing], at_once: int) -> Iterator[_Found]:
    """What the work gives for each thing, in their order.

    Args:
        work: a function of a module, so that other processes can be told of it.
        things: what it is done on.
        at_once: how many a process is given at a time; with fewer than two such lots it is done here.

    Raises:
        MachineError: if one of the processes was ended from outside.
    """
    count = min(len(os.sched_getaffinity(0)), len(things) // at_once)
    if count < 2:
        yield from map(work, things)
        return
    from concurrent.futures import BrokenExecutor, ProcessPoolExecutor  # noqa: PLC0415  (take a tenth of a second)

    try:
        with ProcessPoolExecutor(count) as pool:
            yield from pool.map(work, things, chunksize=at_once)
    except BrokenExecutor:
        raise MachineError(
            "A process that read sessions was ended from outside, perhaps because memory ran out.",
            "What was found until then is kept; run the command again.",
        ) from None
