"""What the help panel says: every key, how to read the strip chart, and what to take care of."""

from __future__ import annotations

KEY_COLUMNS = 14
"""Width of the keys before their words."""

Keys = tuple[tuple[str, str], ...]

_STEPS: Keys = (
    ("i 1 a c", "a step begins now: idle, one core, all cores, cool-down; enter then starts or stops the load"),
    ("p", "a phase with a name of your own"),
    ("b", "the latest phase began 10 s earlier than marked; press again for more"),
    ("l x", "start a load or change it; stop it: enter then begins the phase that goes with it"),
    ("y", "what the plan asked for is done: its pause is over"),
)
_ENTERING: Keys = (
    ("w r s", "watts at the wall, room temperature, a benchmark's score"),
    ("n t", "a note; a tag such as duct=fitted"),
)
_AGO: Keys = (("", "Each line may end in “10 s ago” if it was earlier."),)
_LATER: Keys = (("", "They speak of the moment under the cursor, else of the end of the loaded phase."),)
_ENTRIES: Keys = (("e", "the entries: up and down choose, enter corrects, delete withdraws; the file keeps both"),)
_PLAYING: Keys = (
    ("space", "stop the replay, go on"),
    ("< >", "play it slower, faster"),
    ("enter", "play from the cursor"),
)
_LOOKING: Keys = (
    ("left right", "read any instant, a column at a time; esc puts the cursor away"),
    (", .", "sample by sample"),
    ("+ -", "zoom in, zoom out"),
    ("pgup pgdn", "earlier, later; home: the start; 0 or end: back to now"),
    ("f", "the whole run"),
    ("j", "go to a time"),
    ("[ ]", "from throttle event to throttle event"),
    ("o", "what an event is concluded from"),
    ("v", "traces and sheet, traces, sheet; up, down, pgup and pgdn scroll the sheet"),
    ("d", "the earlier run behind the traces, or not"),
)
_HOLDING: Keys = (("space", "freeze the display; the recording goes on"),)
_LEAVING: Keys = (("q", "leave; while recording it asks whether the recording goes on"),)

_READING = (
    "Each column holds the lowest and the highest of its readings: the shortest dip shows at any zoom.",
    "Where nothing was read, the line is open. The dashed line is the earlier run.",
    "A line under the traces: throttled, and by what. H ═ heat, P ─ power limit, O · from outside, ? cause unknown.",
)
_CAUTION = ("Heatsinks and supplies stay hot after a run, fans bite, a wall meter carries mains voltage.",)


def help_lines(live: bool, playing: bool, *, can_enter: bool = False) -> list[str]:
    """The lines of the help panel; the first is its title, and those without a blank before them are headings.

    Args:
        live: the session is being recorded and can be marked.
        playing: a stored session is being replayed.
        can_enter: what became known later can be entered.
    """
    lines = ["Keys and signs"]
    for heading, keys, is_there in (
        ("Steps", _STEPS, live),
        ("Entering", (*_ENTERING, *(_AGO if live else _LATER), *_ENTRIES), live or can_enter),
        ("Replay", _PLAYING, playing),
        ("Looking", (*_LOOKING, *(_HOLDING if live else ()), *_LEAVING), True),
    ):
        if is_there:
            lines += [heading, *(f" {key.ljust(KEY_COLUMNS)}{words}" for key, words in keys)]
    lines += ["Reading the strip chart", *(f" {words}" for words in _READING)]
    return [*lines, "Take care", *(f" {words}" for words in _CAUTION)]
