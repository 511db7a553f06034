"""Several files of which only the least or the greatest number, or a sum over groups, is one channel."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from benchmon.model.channel import Channel
from benchmon.sensors.number_file import NumberFile


class Extreme:
    """The least (or greatest) of several numbers; a file that cannot be read (offline core) does not count.

    Args:
        channel: what it is.
        files: where the numbers are.
        choose: ``min`` or ``max``.
        divisor: the numbers are this many times the channel's unit.
    """

    def __init__(
        self,
        channel: Channel,
        files: Sequence[NumberFile],
        choose: Callable[[Iterable[int]], int],
        divisor: float = 1.0,
    ) -> None:
        self.channels: tuple[Channel, ...] = (channel,)
        self._files = tuple(files)
        self._choose = choose
        self._divisor = divisor
        self._value: float | None = None

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """The least (or greatest) number that could be read; None if none could."""
        numbers = [number for file in self._files if (number := file.read(now_s)) is not None]
        self._value = self._choose(numbers) / self._divisor if numbers else None
        return (self._value,)

    def why_not(self) -> tuple[str, ...]:
        """Why nothing could be read."""
        return ("" if self._value is not None else _reasons(self._files),)

    def close(self) -> None:
        """Close the files."""
        for file in self._files:
            file.close()


class CountSum:
    """Sum over groups of files that count the same thing; the greatest of a group counts.

    A group of which nothing can be read makes the sum None: a sum that falls because a core went offline would look
    like a counter that was reset.

    Args:
        channel: the sum.
        groups: files that count the same (the threads of one core, the cores of one package).
    """

    def __init__(self, channel: Channel, groups: Iterable[Sequence[NumberFile]]) -> None:
        self.channels: tuple[Channel, ...] = (channel,)
        self._groups = tuple(map(tuple, groups))
        self._value: float | None = None

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """The sum over the groups."""
        total: float | None = 0.0
        for group in self._groups:
            numbers = [number for file in group if (number := file.read(now_s)) is not None]
            total = None if total is None or not numbers else total + max(numbers)
        self._value = total
        return (total,)

    def why_not(self) -> tuple[str, ...]:
        """Why nothing could be read."""
        files = [file for group in self._groups for file in group]
        return ("" if self._value is not None else _reasons(files),)

    def close(self) -> None:
        """Close the files."""
        for group in self._groups:
            for file in group:
                file.close()


def _reasons(files: Sequence[NumberFile]) -> str:
    return "; ".join(dict.fromkeys(file.why for file in files if file.why))
