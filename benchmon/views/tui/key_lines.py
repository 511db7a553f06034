"""The keys in plain words, always on the screen; as many as fit, the most needed first."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from benchmon.views.tui.look import Look, Row, Run, fit, width_of
from benchmon.views.tui.prompts import Ask, Prompt

Keys = Sequence[tuple[str, str, int]]
"""Key, words, and rank: the lower, the longer it stays on a narrow screen."""

MARKING: Keys = (
    ("i", "idle", 0),
    ("1", "one core", 0),
    ("a", "all cores", 0),
    ("c", "cool-down", 0),
    ("p", "other phase", 0),
    ("b", "began 10 s earlier", 5),
    ("w", "wall", 0),
    ("r", "room", 0),
    ("s", "score", 1),
    ("n", "note", 2),
    ("t", "tag", 2),
    ("e", "entries", 3),
)
RUNNING: Keys = (
    ("l", "load", 0),
    ("x", "stop load", 0),
    ("←→", "read", 1),
    ("+-", "zoom", 1),
    ("[]", "event", 2),
    ("o", "open it", 4),
    ("pgup pgdn", "earlier, later", 6),
    ("0", "now", 2),
    ("f", "whole run", 6),
    ("space", "hold still", 5),
    ("v", "view", 3),
    ("?", "help", 0),
    ("q", "leave", 0),
)
PLAYING: Keys = (
    ("space", "stop, go on", 0),
    ("< >", "slower, faster", 0),
    ("←→", "read", 0),
    ("enter", "play from here", 1),
    ("j", "go to a time", 3),
    ("[]", "event", 0),
    ("o", "open it", 1),
)
OVER: Keys = (
    ("←→", "read", 0),
    ("[]", "event", 0),
    ("o", "open it", 0),
    ("j", "go to a time", 2),
    ("e", "entries", 1),
)
LOOKING: Keys = (
    ("+-", "zoom", 0),
    ("pgup pgdn", "earlier, later", 3),
    ("0", "now", 1),
    ("f", "whole run", 2),
    ("d", "earlier run", 4),
    ("v", "view", 1),
    ("?", "help", 0),
    ("q", "leave", 0),
)


@lru_cache(maxsize=4)
def key_rows(live: bool, playing: bool, width: int, look: Look) -> tuple[Row, ...]:
    """The two lines of keys."""
    pages = (MARKING, RUNNING) if live else (PLAYING if playing else OVER, LOOKING)
    return tuple(fit(_runs(keys, width - 2, look), width, look) for keys in pages)


def _runs(keys: Keys, width: int, look: Look) -> list[Run]:
    kept = list(keys)
    while kept and _length(kept, look) > width:
        rank = max(key[2] for key in kept)
        kept.remove(next(key for key in reversed(kept) if key[2] == rank))
    runs: list[Run] = [("plain", " ")]
    for key, words, _ in kept:
        runs += [
            ("key", look.text(_sign(key, look))),
            ("dim", f" {words}  "),
        ]
    return [*runs[:-1], (runs[-1][0], runs[-1][1].rstrip())] if len(runs) > 1 else runs


def _sign(key: str, look: Look) -> str:
    return "left right" if look.ascii_only and key == "←→" else key


def _length(keys: Keys, look: Look) -> int:
    return sum(width_of(_sign(key, look)) + len(words) + 3 for key, words, _ in keys) - 2


def prompt_rows(prompt: Prompt, load_runs: bool, width: int, look: Look) -> list[Row]:
    """The prompt in the place of the keys."""
    if prompt.ask is Ask.QUIT:
        load = " (so does the load)" if load_runs else ""
        ends = " end it, and the load" if load_runs else " end it"
        answers: list[Run] = []
        for key, words in (("g", f" it goes on{load}   "), ("e", f"{ends}   "), ("esc", " stay here")):
            answers += [("key", key), ("plain", words)]
        first: Run = ("strong", " Leave the screen. Does the recording go on?")
        return [fit([first], width, look), fit([("plain", " "), *answers], width, look)]
    label = f" {prompt.ask.label}: "
    if prompt.replaces is not None:
        label = f" in place of entry {prompt.replaces}, {prompt.ask.label}: "
    room = max(width - width_of(label) - 2, 1)
    typed = prompt.text[-room:]
    ago = "" if prompt.ask in {Ask.LOAD, Ask.TIME} else " · may end in “10 s ago”"
    return [
        fit([("strong", label), ("plain", typed), ("plain!", " ")], width, look),
        fit([("dim", f" enter writes it, esc leaves · {prompt.ask.example}{ago}")], width, look),
    ]
