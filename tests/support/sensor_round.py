"""Read everything that discovery found, by key."""

from __future__ import annotations

from benchmon.model import keys
from benchmon.sensors.discovery import discover
from benchmon.sensors.protocol import Discovery
from tests.support.sysfs import Tree


def read_all(found: Discovery, now_s: float) -> tuple[dict[str, float | None], dict[str, str]]:
    """Key → value, and key → why there is none; checks what holds for every sensor."""
    values: dict[str, float | None] = {}
    whys: dict[str, str] = {}
    for sensor in found.sensors:
        read = sensor.read(now_s)
        why = sensor.why_not()
        assert len(read) == len(why) == len(sensor.channels)
        for channel, value, reason in zip(sensor.channels, read, why, strict=True):
            assert channel.key not in values, channel.key
            assert (value is None) == bool(reason), (channel.key, value, reason)
            values[channel.key], whys[channel.key] = value, reason
    return values, whys


def power_step(tree: Tree, watts: tuple[int, ...]) -> tuple[float | None, str]:
    """Package power and why not, after a second in which each package took so many watts."""
    found = discover(tree.root)
    read_all(found, 0.0)
    for package, power_w in enumerate(watts):
        tree.put(f"sys/class/powercap/intel-rapl:{package}/energy_uj", 1_000_000 + power_w * 1_000_000)
    values, whys = read_all(found, 1.0)
    return values[keys.PACKAGE_POWER], whys[keys.PACKAGE_POWER]
