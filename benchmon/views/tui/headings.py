"""What the heading says: the bench, the room, the wall, the time and the cost; and every reading of one instant."""

from __future__ import annotations

from benchmon.model import keys
from benchmon.model.records import MarkKind
from benchmon.model.units import Unit
from benchmon.views.numbers import NOT_READ, duration, plain, quantity
from benchmon.views.tui.look import Run
from benchmon.views.tui.quantities import shown_quantities
from benchmon.views.tui.state import ViewState
from benchmon.views.words.simulated import IN_HEADING


def heading_left(state: ViewState) -> str:
    """What is on the bench: tags in words, then the processor."""
    processor = state.machine.processor if state.machine is not None else ""
    return " · ".join(words for words in (tag_words(state), processor) if words) or "bench sheet"


def tag_words(state: ViewState) -> str:
    """What is special about the run; empty without tags."""
    return ", ".join(f"{key} {value}".strip() for key, value in state.tags.items())


def heading_right(state: ViewState, screen_cost_pct: float | None, *, playing: bool) -> list[list[Run]]:
    """Room, wall, time running and cost; the later a part stands, the earlier it may be left out.

    Args:
        state: what is known.
        screen_cost_pct: what the screen takes of a core [%]; None if it is not known.
        playing: a replay, which tells its time itself.
    """
    now_s = state.now_s
    length = "lasted " if state.end is not None else "running "
    parts: list[list[Run]] = [] if playing else [[("plain", length), ("strong", duration(now_s))]]
    room = state.latest_of(keys.ROOM_TEMP, MarkKind.ROOM)
    parts.append([("plain", f"room {quantity(room[0] if room else None, Unit.CELSIUS)}")])
    wall = state.latest_of(keys.WALL_POWER, MarkKind.WALL)
    if wall is None:
        parts.append([("plain", f"wall {NOT_READ}")])
    else:
        age = f" at {duration(wall[1])}" if state.end is not None else f", {duration(now_s - wall[1])} ago"
        age = "" if keys.WALL_POWER in state.tracks else age
        parts.append([("plain", f"wall {quantity(wall[0], Unit.WATT)}{age}")])
    cost = own_cost(state, screen_cost_pct)
    if cost:
        parts.append([("plain", cost)])
    return parts


def own_cost(state: ViewState, screen_cost_pct: float | None) -> str:
    """What the tool itself takes from the machine, recorder and screen together; empty if it is not known."""
    track = state.tracks.get(keys.RECORDER_COST)
    recorder = track.last if track is not None else None
    known = [cost for cost in (recorder, screen_cost_pct) if cost is not None]
    return f"this tool {plain(sum(known), 1)}% of a core" if known else ""


def time_words(state: ViewState, *, playing: bool = False) -> str:
    """That time does not run as usual; empty if it does. A replay has a pace of its own."""
    header = state.header
    if header is None:
        return ""
    pace = "" if header.time_scale == 1.0 or playing else f"{header.time_scale:g}× real time"
    return ", ".join(words for words in (IN_HEADING if header.virtual else "", pace) if words)


def reading_at(state: ViewState, t_s: float) -> str:
    """Every quantity at one instant, exactly as it was read."""
    index = state.index_at(t_s)
    if index is None:
        return f"At {duration(t_s)} nothing had been read yet."
    at_s = state.times[index]
    words = [
        f"{one.name} {one.words(track.at(index), track.channel.resolution)}"
        for one in shown_quantities(state)
        for track in (state.tracks[one.key],)
    ]
    return f"At {duration(at_s)}{_fraction(at_s)}: {', '.join(words)}."


def _fraction(t_s: float) -> str:
    return f".{int(t_s * 10 + 1e-6) % 10}"
