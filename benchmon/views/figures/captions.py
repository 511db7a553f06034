"""Captions of a run for a video, as SubRip text (SRT): what happened when, the run so many times as fast."""

from __future__ import annotations

from benchmon.model.findings import Summary
from benchmon.views.doors import subtitle
from benchmon.views.figures.run_picture import RunPicture
from benchmon.views.numbers import duration

_SHOWN_S = 4.0
"""How long a caption stays, if the next does not come sooner [s of video]."""
_LEAST_S = 0.2


def captions(picture: RunPicture, summary: Summary, speed: float) -> str:
    """The caption file; phases, held-back stretches, wall readings and entries, in order of time."""
    happened = [(start_s, name) for start_s, _, name in picture.phases]
    happened += [(stretch.start_s, stretch.words) for stretch in picture.stretches]
    happened += [
        (stretch.end_s, f"no longer {stretch.words}")
        for stretch, event in zip(picture.stretches, summary.events, strict=True)
        if event.end_s is not None
    ]
    happened += [(t_s, words) for strip in picture.strips for t_s, _, words in strip.points]
    happened += list(picture.entries)
    said = _together(sorted(happened, key=lambda one: one[0]), speed)
    blocks = []
    for number, (at_s, words) in enumerate(said, start=1):
        next_s = said[number][0] if number < len(said) else at_s + _SHOWN_S
        until_s = max(min(at_s + _SHOWN_S, next_s), at_s + _LEAST_S)
        blocks.append(f"{number}\n{_time(at_s)} --> {_time(until_s)}\n{subtitle(words)}\n")
    return "\n".join(blocks)


def _together(happened: list[tuple[float, str]], speed: float) -> list[tuple[float, str]]:
    """Times of the video; what would follow within a blink is said in one caption."""
    said: list[tuple[float, str]] = []
    for t_s, words in happened:
        line = f"{duration(t_s)} {words}"
        if said and t_s / speed - said[-1][0] < _LEAST_S:
            said[-1] = (said[-1][0], f"{said[-1][1]}; {words}")
        else:
            said.append((t_s / speed, line))
    return said


def _time(seconds: float) -> str:
    """``00:01:02,345`` as SubRip writes it."""
    milliseconds = round(max(seconds, 0.0) * 1000)
    minutes, rest = divmod(milliseconds, 60_000)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{rest // 1000:02d},{rest % 1000:03d}"
