"""The marks that hold: corrections take the place of what they correct, withdrawn ones are gone."""

from __future__ import annotations

from collections.abc import Mapping

from benchmon.model.records import Mark, MarkKind

SAME_MOMENT_S = 1.0
"""Two readings of one thing closer together than this speak of the same moment [s]: the later entry holds."""
_READINGS = frozenset({MarkKind.WALL, MarkKind.ROOM})


class ValidMarks:
    """Follows marks in the order in which they were entered. The only place that knows which of them hold."""

    def __init__(self) -> None:
        """Start with none."""
        self._marks: dict[int, Mark] = {}
        self._moments: dict[tuple[MarkKind, int], Mark] = {}

    def feed(self, mark: Mark) -> None:
        """Take the next mark. What it replaces no longer holds, whether that was itself a correction or not.

        A wall or room reading takes the place of an earlier entry for the same moment.
        """
        if mark.replaces is not None:
            self._marks.pop(mark.replaces, None)
        if mark.kind in _READINGS:
            self._take_place(mark)
        if mark.kind is not MarkKind.WITHDRAW:
            self._marks[mark.number] = mark

    def _take_place(self, mark: Mark) -> None:
        second = int(mark.t_s // SAME_MOMENT_S)
        for near in (second - 1, second, second + 1):
            other = self._moments.get((mark.kind, near))
            if other is not None and abs(other.t_s - mark.t_s) < SAME_MOMENT_S:
                self._marks.pop(other.number, None)
        self._moments[mark.kind, second] = mark

    def entered(self) -> tuple[Mark, ...]:
        """Every mark that holds, in the order in which they were entered."""
        return tuple(self._marks.values())

    def all(self) -> tuple[Mark, ...]:
        """Every mark that holds, by the time it speaks of."""
        return tuple(sorted(self._marks.values(), key=lambda mark: (mark.t_s, mark.number)))

    def of(self, kind: MarkKind) -> tuple[Mark, ...]:
        """Those of one kind, by the time they speak of."""
        return tuple(mark for mark in self.all() if mark.kind is kind)

    def latest(self, kind: MarkKind) -> Mark | None:
        """The one of a kind that speaks of the latest time; None if there is none."""
        marks = self.of(kind)
        return marks[-1] if marks else None

    def tags(self, first: Mapping[str, str]) -> dict[str, str]:
        """Tags in force: the header's, then ``key=value`` marks; an empty value, ``paste=``, takes one away."""
        tags = dict(first)
        for mark in self.of(MarkKind.TAG):
            key, _, value = (part.strip() for part in mark.text.partition("="))
            if value:
                tags[key] = value
            else:
                tags.pop(key, None)
        return tags
