"""What a change did, in characters: each difference of the loaded phases with its interval on a common axis."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from textwrap import wrap

from benchmon.views.doors import terminal
from benchmon.views.figures.change_picture import ChangePicture, Difference
from benchmon.views.figures.labels import shortened
from benchmon.views.figures.ticks import round_ticks
from benchmon.views.numbers import plain, plain_ascii

_WIDTH, _WORDS = 80, 40


def draw_change_in_terminal(picture: ChangePicture, *, can_show_signs: bool = True) -> str:
    """The differences as lines of at most 80 columns; a sentence where there is nothing to draw.

    Args:
        picture: the comparison.
        can_show_signs: False for terminals without UTF-8.
    """
    if picture.why_not:
        return f"{picture.why_not}\n"
    say = str if can_show_signs else plain_ascii
    return terminal("\n".join(line.rstrip() for line in _lines(picture, say))) + "\n"


def _lines(picture: ChangePicture, say: Callable[[str], str]) -> Iterator[str]:
    for words in (picture.run.title, *picture.answers[:1]):
        yield from wrap(say(words), _WIDTH)
    shares = [100.0 * end for one in picture.differences if one.share is not None for end in one.share]
    ticks = round_ticks(min([0.0, *shares]), max([0.0, *shares]), 4)
    phase = ""
    for one in picture.differences:
        if one.phase != phase:
            phase = one.phase
            yield say(phase)
        words = shortened(f"  {say(one.words)}", _WORDS - 1, lambda text: (len(text), 1))
        yield f"{words:<{_WORDS}}{_bar(one, ticks)}"
    foot = [" "] * _WIDTH
    for tick in ticks:
        words = say(plain(tick, 0))
        begin = min(_WORDS + _column(tick, ticks), _WIDTH - len(words))
        foot[begin : begin + len(words)] = words
    yield "".join(foot)
    yield say("after less before, % of before: o with its 95 % interval; | is no change.")
    for words in picture.footing:
        yield from wrap(say(words), _WIDTH)


def _column(percent: float, ticks: list[float]) -> int:
    return round((percent - ticks[0]) / (ticks[-1] - ticks[0]) * (_WIDTH - _WORDS - 1))


def _bar(one: Difference, ticks: list[float]) -> str:
    signs = [" "] * (_WIDTH - _WORDS)
    signs[_column(0.0, ticks)] = "|"
    if one.share is not None:
        low, value, high = (_column(100.0 * share, ticks) for share in one.share)
        signs[low : high + 1] = "=" * (high + 1 - low)
        signs[_column(0.0, ticks)] = "|"
        signs[value] = "o"
    return "".join(signs)
