"""The thermal verdict and the wall readings in sentences: the answer first, then what is missing."""

from __future__ import annotations

from collections.abc import Collection

from benchmon.model import keys
from benchmon.model.events import Level
from benchmon.model.findings import Capacity, Figure, Grounds, Narrower, PartFit, Summary, ThermalFindings, WallFindings
from benchmon.views.numbers import duration, figure_text, plain, room_number
from benchmon.views.words.simulated import seen_word

_SOURCES = {"given by you": "the given", "the sensors": "the reported", "an observed plateau": "its observed"}
_NEARER = "a phase nearer to the limit, which shows how fan or draught answer to more heat"
_NO_HEAT = "No processor temperature was read: nothing can be said about heat."
_SURE_ABOVE = 0.99
_BELOW_SEEN_K = 3.0
_SAME_SHARE = 0.01
"""Watts this near to one another are the same to a reader."""


def verdict(summary: Summary) -> tuple[str, ...]:
    """All of it: sustained power, a part that was asked for, resistance, wall, and what is missing."""
    thermal = summary.thermal
    seen = {key for phase in summary.phases for key in phase.means}
    if not _has_temperature(summary) and thermal.part is None:
        return (_NO_HEAT,)
    lines = [*sustained_sentences(summary)]
    if thermal.part is not None:
        lines.append(part_sentence(thermal, thermal.part))
    lines += [_resistance(thermal), wall_sentence(summary.wall), *summary.wall.warnings]
    lines += [_changed(thermal.grounds), _narrower(thermal.grounds), *_missing(thermal, seen), _below_seen(thermal)]
    return tuple(line for line in lines if line)


def answers(summary: Summary) -> tuple[str, ...]:
    """What the eye should fall on first: what the cooler sustains, or why that is not known."""
    return sustained_sentences(summary) if _has_temperature(summary) else (_NO_HEAT,)


def _has_temperature(summary: Summary) -> bool:
    """Whether a processor temperature was read at all."""
    return any(keys.PROCESSOR_TEMP in phase.means for phase in summary.phases)


def sustained_sentences(summary: Summary) -> tuple[str, ...]:
    """What the cooler sustains: measured, at the limit that the sensors report, predicted; or why it is not known."""
    thermal, capacity = summary.thermal, summary.thermal.capacity
    if capacity.measured_w.value is None and capacity.predicted_w.value is None:
        reasons = dict.fromkeys((capacity.measured_w.why_not, capacity.predicted_w.why_not))
        return (f"Sustained power is not known: {'; '.join(why for why in reasons if why)}.",)
    seen = seen_word(is_simulated=bool(summary.header.virtual))
    lines = [_measured(thermal, seen), _at_told(capacity), _predicted(thermal, seen)]
    return tuple(line for line in lines if line)


def _measured(thermal: ThermalFindings, seen: str) -> str:
    watts, level = thermal.capacity.measured_w, thermal.capacity.sustained
    if watts.value is None:
        return ""
    sustains = f"{_where(thermal.room_c)} this cooler sustains {figure_text(watts, 'W')} at {_limit(thermal)}"
    if not thermal.grounds.is_as_run:
        ran_at = _ran_at(level, ", at the limit and in the room of the run")
        return f"{sustains} ({seen}, and converted to this limit and room).{ran_at}"
    return f"{sustains} ({seen}).{_ran_at(level, _beside(watts, level))}"


def _ran_at(level: Level | None, beside: str) -> str:
    """What it ran at in the end, and why that is not what it sustains: a reader holds one beside the other."""
    if level is None or level.power_w is None:
        return ""
    moving = ", not steady yet" if level.is_settled is False else ""
    last = duration(level.end_s - level.start_s)
    return f" It ran at {plain(level.power_w, 1)} W in the last {last}{moving}{beside}."


def _beside(watts: Figure, level: Level | None) -> str:
    """Why the watts of the last minutes differ from those it sustains; empty where they do not."""
    ran_w = None if level is None else level.power_w
    if ran_w is None or watts.value is None or abs(ran_w / watts.value - 1.0) < _SAME_SHARE:
        return ""
    if ran_w > watts.value:
        sustains = figure_text(watts, "W").split(" ")[0]
        return f"; the {sustains} W are what remains once all of the box has warmed through"
    return "; it was not at that limit all the time"


def _at_told(capacity: Capacity) -> str:
    if capacity.told_limit_c is None or capacity.at_told_limit_w is None:
        return ""
    watts, told = figure_text(capacity.at_told_limit_w, "W"), plain(capacity.told_limit_c, 0)
    return f"At the reported limit of {told} °C, which it never reached, it would sustain {watts}."


def _predicted(thermal: ThermalFindings, seen: str) -> str:
    watts, agree = thermal.capacity.predicted_w, thermal.capacity.agree
    if watts.value is None:
        return ""
    if thermal.capacity.measured_w.value is None:
        return (
            f"{_where(thermal.room_c)} this cooler can sustain {figure_text(watts, 'W')} at {_limit(thermal)}"
            " (predicted: it was never throttled by heat for long)."
        )
    agreed = "the two agree" if agree else f"the two disagree: trust the {seen} one, and look for what changed"
    return f"Predicted from the unthrottled part of the run: {figure_text(watts, 'W')}; {agreed}."


def _where(room: Figure) -> str:
    return "In this room" if room.value is None else f"In a {room_number(room.value)} °C room"


def _limit(thermal: ThermalFindings) -> str:
    source = _SOURCES.get(thermal.limit_source, "a")
    return f"{source} limit of {plain(thermal.limit_c.value, 0)} °C"


def part_sentence(thermal: ThermalFindings, part: PartFit) -> str:
    """Whether a part can be cooled, with the watts and kelvin to spare."""
    capacity = thermal.capacity
    watts = capacity.predicted_w if capacity.measured_w.value is None else capacity.measured_w
    name = f"a {part.part_w:g} W part"
    if part.confidence is None or part.room_c is None or watts.value is None:
        return f"Whether {name} can be cooled is not known: {part.margin_w.why_not}."
    where = f"in a {room_number(part.room_c)} °C room"
    at = "" if thermal.limit_c.value is None else f" at {plain(thermal.limit_c.value, 0)} °C"
    sustains = f"the cooler sustains {figure_text(watts, 'W')}{at}"
    sure = "more than 99% sure" if part.confidence > _SURE_ABOVE else f"{part.confidence * 100:.0f}% sure"
    spare_w, spare_k = abs(part.margin_w.value or 0.0), abs(part.margin_k.value or 0.0)
    spare = f"{plain(spare_w, 0 if spare_w >= 3 else 1)} W"
    if part.answer == "yes":
        return f"A{name[1:]} can be cooled {where}: {sustains}, {spare} or {plain(spare_k, 0)} K to spare ({sure})."
    if part.answer == "no":
        return (
            f"A{name[1:]} would exceed the limit by {plain(spare_k, 0)} K {where}: {sustains}, {spare} too little"
            f" ({sure})."
        )
    return f"Whether {name} can be cooled {where} is too close to call: {sustains}."


def _resistance(thermal: ThermalFindings) -> str:
    found, grounds = thermal.resistance_k_per_w, thermal.grounds
    if found.value is None:
        return "" if thermal.room_c.value is None else f"Thermal resistance is not known: {found.why_not}."
    basis = "at the defended temperature"
    if grounds.rise_k is not None and grounds.power_w is not None:
        rise, watts = plain(grounds.rise_k, 0), plain(grounds.power_w, 1)
        basis = f"{grounds.phase} would settle {rise} K above the room at {watts} W"
    constant = ""
    if grounds.time_constant_s is not None:
        constant = f"; time constant {plain(grounds.time_constant_s, 0)} s"
    return f"Thermal resistance to the room: {figure_text(found, 'K/W', 2)} ({basis}{constant})."


def wall_sentence(wall: WallFindings) -> str:
    """What the rest of the machine draws, and what a package watt costs at the wall; empty if it makes no sense."""
    own, slope = wall.own_draw_w, wall.slope
    if own.value is None or slope.value is None or own.value < 0.0 or slope.value < 1.0:
        return ""
    return (
        f"At the wall: {figure_text(own, 'W')} without the processor; each package watt adds {figure_text(slope, 'W')}."
    )


def _changed(grounds: Grounds) -> str:
    if grounds.changed_s is None:
        return ""
    return (
        f"The cooling changed at {duration(grounds.changed_s)}: from there on the same power gives another temperature."
        " The figures are for the cooling since then; check fan and heatsink mounting."
    )


def _narrower(grounds: Grounds) -> str:
    match grounds.narrower:
        case Narrower.MORE_OF_IT:
            more = plain((grounds.narrower_s or 0.0) / 60.0, 0)
            what = f"another {more} minutes of {grounds.phase or 'the same load'}, which was still warming up"
        case Narrower.OTHER_LOAD:
            what = "a phase at half the load, or ten minutes idle"
        case Narrower.NEARER_LIMIT:
            what = _NEARER
        case None:
            return ""
    return f"To narrow the interval: {what}."


def _missing(thermal: ThermalFindings, seen: Collection[str]) -> list[str]:
    lines = []
    if thermal.room_c.value is None:
        lines.append(
            "No room temperature was entered: without one there is no thermal resistance and no prediction;"
            " temperatures, settling and power stand."
        )
    if keys.PACKAGE_POWER not in seen:
        lines.append("Package power was not read: no figure in watts; temperatures and settling stand.")
    if thermal.grounds.is_below_room:
        lines.append("In one phase the sensor reads below the room temperature: one of the two is wrong.")
    return lines


def _below_seen(thermal: ThermalFindings) -> str:
    limit, highest = thermal.limit_c.value, thermal.grounds.highest_c
    if limit is None or highest is None or thermal.limit_source != "given by you" or highest <= limit + _BELOW_SEEN_K:
        return ""
    return (
        f"The limit you gave, {plain(limit, 0)} °C, is below the {plain(highest, 0)} °C that was reached:"
        " the figures say what it would take to stay under it, not what this machine does."
    )
