"""A list of numbers that only grows, in little memory: what is old is packed, and comes back to the last bit.

A screen keeps every reading of a day, so that any of them can be drawn and read out; readings repeat, and take a fifth
when packed.
"""

from __future__ import annotations

import zlib
from array import array
from bisect import bisect_left
from collections.abc import Iterator

BLOCK = 1024
"""So many numbers are packed at once: in less than a millisecond on a slow machine."""
_BYTES = 8


class LongNumbers:
    """Numbers by their place; negative places count from the end."""

    def __init__(self) -> None:
        """Start empty."""
        self._packed: list[bytes] = []
        self._firsts = array("d")
        """The first number of each packed block."""
        self._open = array("d")
        self._unpacked: tuple[int, array[float]] = (-1, self._open)
        """The block that was looked into last."""

    def append(self, number: float) -> None:
        """Add one at the end."""
        self._open.append(number)
        if len(self._open) == BLOCK:
            self._firsts.append(self._open[0])
            self._packed.append(_pack(self._open))
            self._open = array("d")

    def __len__(self) -> int:
        return len(self._packed) * BLOCK + len(self._open)

    def __getitem__(self, place: int) -> float:
        place = place + len(self) if place < 0 else place
        if not 0 <= place < len(self):
            raise IndexError(place)
        block, inner = divmod(place, BLOCK)
        return self._block(block)[inner]

    def __iter__(self) -> Iterator[float]:
        return self.since(0)

    def since(self, place: int) -> Iterator[float]:
        """The numbers from a place on."""
        for block in range(place // BLOCK, len(self._packed) + 1):
            yield from self._block(block)[max(place - block * BLOCK, 0) :]

    def count_below(self, number: float) -> int:
        """How many are less than a number; they must be in ascending order."""
        block = bisect_left(self._firsts, number)
        if block == len(self._packed) and self._open and self._open[0] < number:
            return block * BLOCK + bisect_left(self._open, number)
        return 0 if block == 0 else (block - 1) * BLOCK + bisect_left(self._block(block - 1), number)

    def _block(self, block: int) -> array[float]:
        if block == len(self._packed):
            return self._open
        if self._unpacked[0] != block:
            self._unpacked = block, _unpack(self._packed[block])
        return self._unpacked[1]


def _pack(numbers: array[float]) -> bytes:
    """First bytes together, then second ones, and so on: neighbours differ in the last ones only."""
    plain = numbers.tobytes()
    return zlib.compress(b"".join(plain[place::_BYTES] for place in range(_BYTES)), 1)


def _unpack(packed: bytes) -> array[float]:
    apart = zlib.decompress(packed)
    count = len(apart) // _BYTES
    plain = bytearray(len(apart))
    for place in range(_BYTES):
        plain[place::_BYTES] = apart[place * count : (place + 1) * count]
    return array("d", bytes(plain))
