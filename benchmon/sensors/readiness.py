"""Looks at a machine before a recording: is anything in the way of a result that can be trusted?"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

from benchmon.model import keys
from benchmon.model.obstacle import Obstacle
from benchmon.sensors.discovery import discover
from benchmon.sensors.file_tree import entries, text_of
from benchmon.sensors.programs import Busy, busiest
from benchmon.sensors.settings import SettingsReader

LOOK_S = 1.0
"""So long other programs are watched [s]."""
_MOST_BUSY_PCT = 10.0
"""Others may take so much of one core [%]: it heats an idle box by less than its sensors resolve (common practice)."""
_LEAST_DISK, _LEAST_MEMORY = 200 * 2**20, 300 * 2**20
"""Room for a day of recording, and for workers on many cores [B]."""
_WARM_FOR_S = 30 * 60.0
"""A small box keeps the warmth of a load about so long [s]: case stores take tens of minutes (``docs/method.md``)."""
_MATTER = {
    keys.PROCESSOR_TEMP: ("no temperature of the processor can be read", "there is no thermal verdict, and no guard"),
    keys.PACKAGE_POWER: ("package power cannot be read", "watts, resistance and power limits stay unknown"),
    keys.CLOCK: ("the clock cannot be read", "throttling shows in the work done only, or not at all"),
}


def obstacles(root: Path, folder: Path, newest_s_ago: float | None, look_s: float = LOOK_S) -> tuple[Obstacle, ...]:
    """Everything that is in the way; takes about ``look_s``.

    Args:
        root: folder in which ``sys/`` and ``proc/`` lie.
        folder: where sessions are kept.
        newest_s_ago: how long ago the last recording ended [s]; None if none is known.
        look_s: how long other programs are watched [s].
    """
    return (
        *_programs(busiest(root / "proc", look_s)),
        *_settings(root),
        *_battery(root),
        *_room_left(root, folder),
        *_missing(root),
        *_warm(newest_s_ago),
        *_guest(root),
    )


def _programs(found: tuple[Busy, ...]) -> Iterator[Obstacle]:
    whole = sum(one.core_pct for one in found)
    if whole > _MOST_BUSY_PCT:
        names = ", ".join(f"{one.name} {one.core_pct:.0f} %" for one in found[:3])
        yield Obstacle(
            f"other programs take {whole:.0f} % of a core: {names}",
            "they heat the box and take time from the load: idle is too warm, work rates are too low",
        )


def _settings(root: Path) -> Iterator[Obstacle]:
    read = SettingsReader(root).read()
    settings = {one.key: one.value for one in read}
    if settings.get(keys.GOVERNOR) == "powersave" and settings.get(keys.CLOCK_DRIVER) == "acpi-cpufreq":
        yield Obstacle("the clock governor is powersave", "the clock stays low, whatever the cooling could hold")
    if settings.get(keys.TURBO) == "off":
        yield Obstacle("turbo is off", "the processor runs cooler and slower than it is sold to")


def _battery(root: Path) -> Iterator[Obstacle]:
    for supply in entries(root / "sys/class/power_supply", ".+"):
        if text_of(supply / "type") == "Battery" and text_of(supply / "status") == "Discharging":
            yield Obstacle("it runs on its battery", "many machines limit their power then: nothing compares to mains")
            return


def _room_left(root: Path, folder: Path) -> Iterator[Obstacle]:
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    try:
        room = os.statvfs(folder)
    except OSError:
        return
    free = room.f_bavail * room.f_frsize
    if free < _LEAST_DISK:
        yield Obstacle(f"only {free // 2**20} MiB are free in {folder}", "the recording ends when the disk is full")
    for line in (text_of(root / "proc/meminfo") or "").splitlines():
        name, _, rest = line.partition(":")
        size = rest.split()
        if name == "MemAvailable" and size and size[0].isdigit() and int(size[0]) * 1024 < _LEAST_MEMORY:
            yield Obstacle(
                f"only {int(size[0]) // 1024} MiB of memory are free", "the machine may swap: work rates become too low"
            )


def _missing(root: Path) -> Iterator[Obstacle]:
    sensors = discover(root).sensors
    try:
        found = {channel.key for sensor in sensors for channel in sensor.channels}
    finally:
        for sensor in sensors:
            sensor.close()
    for key, (what, effect) in _MATTER.items():
        if key not in found:
            yield Obstacle(f"{what} (benchmon channels says why)", effect)


def _warm(newest_s_ago: float | None) -> Iterator[Obstacle]:
    if newest_s_ago is not None and 0.0 <= newest_s_ago < _WARM_FOR_S:
        wait_min = (_WARM_FOR_S - newest_s_ago) / 60.0
        yield Obstacle(
            f"the last recording ended {newest_s_ago / 60.0:.0f} min ago: the box may still be warm",
            f"it begins warmer than a run from cold; to compare, wait {wait_min:.0f} min more",
        )


def _guest(root: Path) -> Iterator[Obstacle]:
    flags = next((line for line in (text_of(root / "proc/cpuinfo") or "").splitlines() if line.startswith("flags")), "")
    if "hypervisor" in flags.split():
        yield Obstacle("this is a guest on another machine", "neighbours share its cores, power and cooling")


def ended_s_ago(path: Path | None) -> float | None:
    """How long ago a session was last written to [s]; None if it cannot be seen."""
    try:
        return None if path is None else max(0.0, time.time() - path.stat().st_mtime)
    except OSError:
        return None
