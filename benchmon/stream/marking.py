"""From what a person enters to a mark: checked, cleaned, numbered."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from benchmon.errors import UsageError
from benchmon.model.records import Mark, MarkKind
from benchmon.model.usable import usable_number, usable_whole
from benchmon.plain_text import one_line

MOST_CHARACTERS = 500
_NEED_VALUE = {MarkKind.WALL: (0.0, 10_000.0), MarkKind.ROOM: (-60.0, 80.0), MarkKind.SCORE: (-1e15, 1e15)}
_NEED_TEXT = {MarkKind.PHASE, MarkKind.NOTE, MarkKind.TAG}
_CLOCK_DOUBT_S = 1.0


class MarkBook:
    """Numbers the marks of one session.

    Args:
        count: marks that it has already.
    """

    def __init__(self, count: int = 0) -> None:
        self._count = count
        self.phase_s = -inf
        """Time at which the phase that was entered last began [s]."""

    def enter(
        self,
        now_s: float,
        kind: MarkKind,
        text: str = "",
        value: float | None = None,
        t_s: float | None = None,
        *,
        source: str = "",
    ) -> Mark:
        """A mark of the recorder's own, by a plan, from the command line or from what a command printed."""
        self._count += 1
        return self._seen(Mark(self._count, now_s if t_s is None else t_s, now_s, kind, text, value, source=source))

    def from_request(self, now_s: float, request: Mapping[str, object]) -> Mark:
        """The mark a request asks for.

        Args:
            now_s: session time [s].
            request: ``kind``, ``text``, ``value``, ``t_s`` or ``ago_s``, ``replaces``; all but the first may be absent.

        Raises:
            UsageError: if it makes no sense; nothing is numbered then.
        """
        try:
            kind = MarkKind(request.get("kind"))
        except ValueError:
            raise UsageError(f"there is no kind of mark called {request.get('kind')!r}") from None
        text = _clean(request.get("text"))
        value = _number(request, "value")
        least, most = _NEED_VALUE.get(kind, (None, None))
        if least is not None and most is not None and (value is None or not least <= value <= most):
            raise UsageError(f"a {kind.value} mark needs a value between {least:g} and {most:g}")
        if kind in _NEED_TEXT and not text:
            raise UsageError(f"a {kind.value} mark needs words")
        replaces = self._replaced(request, needed=kind is MarkKind.WITHDRAW)
        t_s = self._time(now_s, request)
        self._count += 1
        return self._seen(Mark(self._count, t_s, now_s, kind, text, value if least is not None else None, replaces))

    def _seen(self, mark: Mark) -> Mark:
        if mark.kind is MarkKind.PHASE:
            self.phase_s = mark.t_s
        return mark

    def _replaced(self, request: Mapping[str, object], *, needed: bool) -> int | None:
        number = request.get("replaces")
        if number is None and not needed:
            return None
        found = usable_whole(number)
        if found is None or not 1 <= found <= self._count:
            raise UsageError(f"there is no mark number {str(number)[:20]}" if found is not None else "no such mark")
        return found

    def _time(self, now_s: float, request: Mapping[str, object]) -> float:
        at_s, ago_s = _number(request, "t_s"), _number(request, "ago_s")
        t_s = at_s if at_s is not None else now_s - (ago_s or 0.0)
        if not -_CLOCK_DOUBT_S <= t_s <= now_s + _CLOCK_DOUBT_S:
            raise UsageError("a mark must lie between the session's start and now")
        return min(max(t_s, 0.0), now_s)


def _clean(text: object) -> str:
    """Words in one line; nothing that could steer a terminal."""
    if text is None:
        return ""
    if not isinstance(text, str):
        raise UsageError("the text of a mark must be words")
    words = one_line(text, 4 * MOST_CHARACTERS)
    if len(words) > MOST_CHARACTERS:
        raise UsageError(f"a mark holds {MOST_CHARACTERS} characters, not {len(words)}")
    return words


def _number(request: Mapping[str, object], name: str) -> float | None:
    value = request.get(name)
    if value is None:
        return None
    found = usable_number(value)
    if found is None:
        raise UsageError(f"{name} must be a number")
    return found
