"""The marks that hold: corrections take the place of what they correct, withdrawn ones are gone."""

from __future__ import annotations

from collections.abc import Mapping

from benchmon.model.records import Mark, MarkKind


class ValidMarks:
    """Follows marks in the order in which they were entered. The only place that knows which of them hold."""

    def __init__(self) -> None:
        """Start with none."""
        self._marks: dict[int, Mark] = {}

    def feed(self, mark: Mark) -> None:
        """Take the next mark. What it replaces no longer holds, whether that was itself a correction or not."""
        if mark.replaces is not None:
            self._marks.pop(mark.replaces, None)
        if mark.kind is not MarkKind.WITHDRAW:
            self._marks[mark.number] = mark

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
