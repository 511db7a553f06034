"""What a replay needs besides its records: its pace in words, and events that lie ahead."""

from __future__ import annotations

from benchmon.stream.replay import Replay
from benchmon.views.numbers import duration
from benchmon.views.tui.state import ViewState


def playing_words(replay: Replay) -> str:
    """``replay 10×, at 3:05 of 8:00``."""
    pace = "stopped" if replay.paused else f"{replay.speed:g}×"
    return f"replay {pace}, at {duration(replay.position_s)} of {duration(replay.end_s)}"


def next_event_start(state: ViewState, replay: Replay) -> float | None:
    """When the next event begins that has not been played yet, on the session's axis [s]; None if none follows."""
    ahead = ViewState(state.new_analyst)
    for record in replay.records:
        ahead.apply(record)
    starts = sorted(event.announced_s for event in ahead.events.values())
    return next((start for start in starts if start > replay.position_s), None)
