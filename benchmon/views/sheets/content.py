"""What a sheet says, before it has a format: facts, the table of phases, events, verdict, doubts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from benchmon.model import keys
from benchmon.model.findings import Summary
from benchmon.model.records import MarkKind, Setting
from benchmon.model.units import Unit
from benchmon.views.numbers import NOT_READ, clock_ghz, counted, duration, plain, quantity, room_text
from benchmon.views.sheets.phase_table import Table, events_in_table, more_table, phase_table, phases_note
from benchmon.views.words.box import box_sentences, missing_parts
from benchmon.views.words.caveats import doubts, no_events
from benchmon.views.words.events import event_details, event_sentence
from benchmon.views.words.experiment import experiment_sentences
from benchmon.views.words.own_load import command_sentences, score_sentences
from benchmon.views.words.plans import plan_sentences
from benchmon.views.words.records import mark_sentence
from benchmon.views.words.simulated import SIMULATED
from benchmon.views.words.verdict import verdict

_SHOWN_ENTRIES = (MarkKind.WALL, MarkKind.ROOM, MarkKind.NOTE)
_SHORTEST_SHOWN_WINDOW_S = 0.1


@dataclass(frozen=True, slots=True)
class Sheet:
    """A bench sheet in words, ready to be laid out."""

    title: str
    facts: tuple[tuple[str, str], ...]
    """Label and text, one line each."""
    phases: Table
    phases_note: str
    """What the lines of throttled phases mean; empty without one."""
    more: Table
    """What else was read in each phase: load, fan, work, energy, score."""
    events: tuple[tuple[str, tuple[str, ...]], ...]
    """Each event's sentence and what else is known of it."""
    no_events: str
    """What to say where there are none."""
    own: tuple[tuple[str, tuple[str, ...]], ...]
    """What a person's own things came to: headings with sentences, those that have any."""
    entries: tuple[str, ...]
    """Readings and notes as they were entered, a sentence each; scores stand elsewhere."""
    verdict: tuple[str, ...]
    """The thermal verdict and the wall readings, a sentence each."""
    doubts: tuple[str, ...]
    """What could not be read or is wrong with the recording, a sentence each."""


def make_sheet(summary: Summary) -> Sheet:
    """Everything a sheet says about one session."""
    recorded_s = summary.quality.duration_s
    ended_s = recorded_s if summary.is_complete else None
    in_table = events_in_table(summary.phases)
    return Sheet(
        title=title(summary),
        facts=facts(summary),
        phases=phase_table(summary.phases, recorded_s, _number(summary.settings, keys.RATED_CLOCK)),
        phases_note=phases_note(summary.phases),
        more=more_table(summary.phases),
        events=tuple(
            (f"{e.number}. {event_sentence(e, ended_s, with_figures=e.number not in in_table)}", event_details(e))
            for e in summary.events
        ),
        no_events=no_events(summary),
        own=tuple((heading, lines) for heading, lines in _own(summary) if lines),
        entries=tuple(
            f"{duration(mark.t_s)}  {mark_sentence(mark, listed=True)}"
            for mark in summary.marks
            if mark.kind in _SHOWN_ENTRIES
        ),
        verdict=verdict(summary),
        doubts=(*doubts(summary), *missing_parts(summary)),
    )


def _own(summary: Summary) -> tuple[tuple[str, tuple[str, ...]], ...]:
    return (
        ("Plan", plan_sentences(summary.plan)),
        ("Experiment", experiment_sentences(summary.experiment)),
        ("Scores", score_sentences(summary)),
        ("Command", command_sentences(summary)),
        ("What the box is made of", box_sentences(summary)),
    )


def title(summary: Summary, what: str = "Bench sheet") -> str:
    """What it is, whether it was simulated, day and tags in words."""
    header = summary.header
    words = ", ".join(f"{key} {value}" for key, value in summary.tags.items())
    simulated = "simulated, " if header.virtual else ""
    day = header.started_at.strftime("%Y-%m-%d %H:%M UTC")
    return f"{what}, {simulated}{day}" + (f": {words}" if words else "")


def facts(summary: Summary) -> tuple[tuple[str, str], ...]:
    """Machine, settings, room and length of the recording; only what is known."""
    lines: list[tuple[str, str]] = [("Simulated", SIMULATED)] if summary.header.virtual else []
    machine = summary.machine
    if machine is not None:
        size = "" if machine.threads is None else f"{machine.cores or NOT_READ} cores, {machine.threads} threads"
        memory = "" if machine.memory_gib is None else f"memory {machine.memory_gib:.1f} GiB"
        lines.append(("Processor", _joined(machine.processor, size)))
        lines.append(("Box", _joined(machine.product, machine.board, memory, machine.system)))
    lines.append(("Clocks", _clocks(summary.settings)))
    lines.append(("Limits", _limits(summary)))
    room = summary.thermal.room_c
    source = f" ({summary.thermal.room_source})" if room.value is not None and summary.thermal.room_source else ""
    lines.append(("Room", room_text(room) + source))
    quality = summary.quality
    every = f"{summary.header.period_s:g} s"
    gaps = (
        f"{counted(quality.gap_count, 'gap')}, {plain(quality.missing_s, 1)} s missing"
        if quality.gap_count
        else "no gaps"
    )
    lines.append(
        (
            "Recorded",
            f"{duration(round(quality.duration_s))}, {counted(quality.sample_count, 'sample')} {every} apart, {gaps}",
        )
    )
    return tuple((label, text) for label, text in lines if text)


def _number(settings: Mapping[str, Setting], key: str) -> float | None:
    setting = settings.get(key)
    return setting.value if setting is not None and isinstance(setting.value, int | float) else None


def _text(settings: Mapping[str, Setting], key: str) -> str:
    setting = settings.get(key)
    return setting.value if setting is not None and isinstance(setting.value, str) else ""


def _clocks(settings: Mapping[str, Setting]) -> str:
    parts = [
        f"{word} {clock_ghz(value)}"
        for word, key in (("rated", keys.RATED_CLOCK), ("highest", keys.HIGHEST_CLOCK), ("lowest", keys.LOWEST_CLOCK))
        if (value := _number(settings, key)) is not None
    ]
    turbo, governor = _text(settings, keys.TURBO), _text(settings, keys.GOVERNOR)
    return _joined(*parts, turbo and f"turbo {turbo}", governor and f"governor {governor}")


def _limits(summary: Summary) -> str:
    settings = summary.settings
    parts = [
        f"{word} {quantity(value, Unit.CELSIUS, 1.0)}"
        for word, key in (("reported", keys.TEMP_LIMIT), ("shut-down at", keys.TEMP_CRITICAL))
        if (value := _number(settings, key)) is not None
    ]
    for word, watts_key, window_key in (
        ("sustained", keys.POWER_LIMIT_LONG, keys.POWER_WINDOW_LONG),
        ("short-term", keys.POWER_LIMIT_SHORT, keys.POWER_WINDOW_SHORT),
    ):
        watts, window = _number(settings, watts_key), _number(settings, window_key)
        if watts is not None:
            over = "" if window is None or window < _SHORTEST_SHOWN_WINDOW_S else f" ({window:.3g} s)"
            parts.append(f"{word} {quantity(watts, Unit.WATT)}{over}")
    return _joined(*parts)


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)
