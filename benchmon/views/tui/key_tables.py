"""Which keys are named on the screen, in which words."""

from __future__ import annotations

from benchmon.model import phase_names

Key = tuple[str, str, int]
"""Key, words, and rank: the lower, the longer it stays on a narrow screen."""
Keys = tuple[Key, ...]

SHORT = {
    phase_names.ONE_CORE: "one",
    phase_names.ALL_CORES: "all",
    phase_names.COOL_DOWN: "cool",
    "other phase": "phase",
    "stop load": "stop",
    "began 10 s earlier": "10 s earlier",
    "open it": "open",
}
"""Words that stand in for longer ones before any key is left out."""

MARKING: Keys = (
    ("i", phase_names.IDLE, 0),
    ("1", phase_names.ONE_CORE, 0),
    ("a", phase_names.ALL_CORES, 0),
    ("c", phase_names.COOL_DOWN, 0),
    ("p", "other phase", 0),
    ("b", "began 10 s earlier", 5),
    ("w", "wall", 0),
    ("r", "room", 0),
    ("s", "score", 0),
    ("n", "note", 1),
    ("t", "tag", 1),
)
RUNNING: Keys = (
    ("l", "load", 0),
    ("x", "stop load", 0),
    ("←→", "read", 1),
    ("+-", "zoom", 1),
    ("[]", "event", 2),
    ("o", "open it", 4),
    ("e", "entries", 1),
    ("pgup pgdn", "earlier, later", 6),
    ("0", "now", 2),
    ("f", "whole run", 6),
    ("space", "freeze display", 5),
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
ENTERING: Keys = (
    ("←→", "read", 0),
    ("[]", "event", 0),
    ("o", "open it", 2),
    ("e", "entries", 0),
    ("w", "wall", 0),
    ("r", "room", 0),
    ("s", "score", 0),
    ("n", "note", 0),
    ("t", "tag", 0),
    ("j", "go to a time", 3),
)
SCROLLING: Keys = (
    ("↑↓ pgup pgdn", "scroll", 0),
    ("[]", "event", 1),
    ("o", "open it", 1),
    ("e", "entries", 1),
    ("v", "view", 0),
    ("?", "help", 0),
    ("q", "leave", 0),
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
