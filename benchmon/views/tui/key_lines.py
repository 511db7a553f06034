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
LOOKING: Keys = (
    ("+-", "zoom", 0),
    ("pgup pgdn", "earlier, later", 3),
    ("0", "now", 1),
    ("f", "whole run", 2),
    ("d", "earlier run", 4),
    ("v", "view", 1),
    ("e", "entries", 3),
    ("?", "help", 0),
    ("q", "leave", 0),
)


@lru_cache(maxsize=4)
def key_rows(live: bool, width: int, look: Look) -> tuple[Row, ...]:
    """The two lines of keys."""
    pages = (MARKING, RUNNING) if live else (PLAYING, LOOKING)
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
    return runs


def _sign(key: str, look: Look) -> str:
    return "left right" if look.ascii_only and key == "←→" else key


def _length(keys: Keys, look: Look) -> int:
    return sum(width_of(_sign(key, look)) + len(words) + 3 for key, words, _ in keys) - 2


def prompt_rows(prompt: Prompt, load_runs: bool, width: int, look: Look) -> list[Row]:
    """The prompt in the place of the keys."""
    if prompt.ask is Ask.QUIT:
        goes_on = " The load keeps running too." if load_runs else ""
        first: list[Run] = [("strong", " Leave the screen. Does the recording go on?")]
        second: list[Run] = [
            ("plain", " "),
            ("key", "g"),
            ("plain", f" it goes on.{goes_on}   "),
            ("key", "e"),
            ("plain", " end it" + (" and the load" if load_runs else "") + "   "),
            ("key", "esc"),
            ("plain", " stay here"),
        ]
        return [fit(first, width, look), fit(second, width, look)]
    label = f" {prompt.ask.label}: "
    if prompt.replaces is not None:
        label = f" in place of entry {prompt.replaces}, {prompt.ask.label}: "
    room = max(width - width_of(label) - 2, 1)
    typed = prompt.text[-room:]
    ago = "" if prompt.ask in {Ask.LOAD, Ask.TIME} else " · end with “10 s ago” if it was earlier"
    return [
        fit([("strong", label), ("plain", typed), ("plain!", " ")], width, look),
        fit([("dim", f" {prompt.ask.example}{ago} · enter writes it, esc leaves it")], width, look),
    ]
