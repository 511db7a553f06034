"""The keys in plain words, always on the screen; as many as fit, the most needed first."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from benchmon.views.tui.drawing import Surroundings
from benchmon.views.tui.key_tables import (
    ENTERING,
    LOOKING,
    MARKING,
    OVER,
    PLAYING,
    RUNNING,
    SCROLLING,
    SHORT,
    Key,
    Keys,
)
from benchmon.views.tui.look import Look, Row, Run, fit, width_of
from benchmon.views.tui.prompts import Ask
from benchmon.views.tui.view import Mode, View

_SPARED = 5
"""Keys from this rank on are left out before any other is named in shorter words."""


def key_page(around: Surroundings, view: View) -> tuple[Keys, Keys]:
    """Which keys the two lines name."""
    looking = SCROLLING if view.mode is Mode.SHEET else LOOKING
    if around.live:
        return MARKING, SCROLLING if view.mode is Mode.SHEET else RUNNING
    if around.playing:
        return PLAYING, looking
    return (ENTERING if around.can_enter else OVER), looking


@lru_cache(maxsize=4)
def key_rows(pages: tuple[Keys, Keys], width: int, look: Look) -> tuple[Row, ...]:
    """The two lines of keys."""
    return tuple(fit(_runs(keys, width - 2, look), width, look) for keys in pages)


def _runs(keys: Sequence[Key], width: int, look: Look) -> list[Run]:
    kept = _dropped(list(keys), width, look, least_rank=_SPARED)
    if _length(kept, look) > width:
        short = [(key, SHORT.get(words, words), rank) for key, words, rank in keys]
        kept = _dropped(short, width, look)
    runs: list[Run] = [("plain", " ")]
    for key, words, _ in kept:
        runs += [
            ("key", look.text(_sign(key, look))),
            ("plain", f"{look.sign('›', ':')}{words}  "),
        ]
    return [*runs[:-1], (runs[-1][0], runs[-1][1].rstrip())] if len(runs) > 1 else runs


def _dropped(keys: list[Key], width: int, look: Look, least_rank: int = 0) -> list[Key]:
    """The keys that fit, those of the highest rank left out first; none below the least rank is left out."""
    kept = list(keys)
    while _length(kept, look) > width and (rank := max(key[2] for key in kept)) >= least_rank:
        kept.remove(next(key for key in reversed(kept) if key[2] == rank))
    return kept


def _sign(key: str, look: Look) -> str:
    return key.replace("←→", "left right").replace("↑↓", "up down") if look.ascii_only else key


def _length(keys: Sequence[Key], look: Look) -> int:
    return sum(width_of(_sign(key, look)) + len(words) + 3 for key, words, _ in keys) - 2


def _answers(answers: Sequence[tuple[str, str]], look: Look) -> list[Run]:
    """Keys that answer a question, shown as all keys are."""
    return _runs([(key, f"{words} ", 0) for key, words in answers], 1000, look)


def prompt_rows(view: View, load_runs: bool, width: int, look: Look) -> list[Row]:
    """The prompt in the place of the keys."""
    prompt = view.prompt
    if prompt is None:
        return []
    if view.offer is not None:
        answer = _answers((("enter", "yes"), ("esc", "no")), look)
        return [fit([("strong", f" {view.offer.words}")], width, look), fit(answer, width, look)]
    if prompt.ask is Ask.QUIT:
        load = " (so does the load)" if load_runs else ""
        ends = "end it, and the load" if load_runs else "end it"
        answers = _answers((("g", f"it goes on{load}"), ("e", ends), ("esc", "stay here")), look)
        first: Run = ("strong", " Leave the screen. Does the recording go on?")
        return [fit([first], width, look), fit(answers, width, look)]
    label = f" {prompt.ask.label}{prompt.of}: "
    if prompt.replaces is not None:
        label = f" in place of entry {prompt.replaces}, {prompt.ask.label}: "
    room = max(width - width_of(label) - 2, 1)
    typed = prompt.text[-room:]
    ago = "" if prompt.ask in {Ask.LOAD, Ask.TIME} or prompt.of else " · may end in “10 s ago”"
    return [
        fit([("strong", label), ("plain", typed), ("plain!", " ")], width, look),
        fit([("plain", f" enter writes it, esc leaves · {prompt.ask.example}{ago}")], width, look),
    ]


def prompt_words(view: View, load_runs: bool) -> str:
    """The prompt in one sentence, for terminals too small for the screen."""
    prompt = view.prompt
    if prompt is None:
        return ""
    if view.offer is not None:
        return f"{view.offer.words} enter yes, esc no."
    if prompt.ask is Ask.QUIT:
        also = " with the load" if load_runs else ""
        return f"Does the recording go on{also}? g goes on, e ends it, esc stays."
    return f"{prompt.ask.label}: {prompt.text}_ (enter writes, esc leaves)"
