"""What the help panel says: every key, how to read the paper, and what to take care of."""

from __future__ import annotations

KEY_COLUMNS = 14
"""Width of the keys before their words."""

_MARKING = (
    ("i 1 a c", "a phase begins now: idle, one core, all cores, cool-down"),
    ("p", "a phase with a name of your own"),
    ("b", "the latest phase began 10 s earlier than marked; press again for more"),
    ("w r s", "watts at the wall, room temperature, a benchmark's score"),
    ("n t", "a note; a tag such as duct=fitted"),
    ("", "Each line may end in “10 s ago” if it was earlier."),
    ("e", "the entries: up and down choose, enter corrects, delete withdraws; the file keeps what was there"),
    ("l x", "start the load or change it; stop it"),
)
_PLAYING = (
    ("space", "stop the replay, go on"),
    ("< >", "play it slower, faster"),
    ("enter", "play from the cursor"),
)
_LOOKING = (
    ("left right", "read any instant, a dot column at a time; comma and full stop: sample by sample; esc puts it away"),
    ("+ -", "faster paper, slower paper"),
    ("pgup pgdn", "earlier, later; home: the start; 0 or end: back to now"),
    ("f", "the whole run on one sheet"),
    ("j", "go to a time"),
    ("[ ]", "from throttle event to throttle event"),
    ("o", "what an event is concluded from"),
    ("v", "traces and sheet, traces, sheet"),
    ("d", "the earlier run behind the traces, or not"),
)
_HOLDING = (("space", "hold the drawing still; the recording goes on"),)
_LEAVING = (("q", "leave; while recording it asks whether the recording goes on"),)

_READING = (
    "Each dot column holds the least and the greatest of its readings: the shortest dip shows at any zoom.",
    "Where nothing was read, the line is open. The dashed line is the earlier run.",
    "A bar under the traces: held back, and by what (H heat, P power limit, O from outside, ? unexplained).",
    "Take care: heatsinks and supplies stay hot after a run, fans bite, a wall meter carries mains voltage.",
)


def help_lines(live: bool, playing: bool) -> list[str]:
    """The lines of the help panel; the first is its title.

    Args:
        live: the session is being recorded and can be marked.
        playing: a stored session is being replayed.
    """
    keys = [*(_MARKING if live else ()), *(_PLAYING if playing else ()), *_LOOKING]
    keys += [*(() if playing else _HOLDING), *_LEAVING]
    return ["Keys and signs", *(key.ljust(KEY_COLUMNS) + words for key, words in keys), *_READING]
