"""Sessions made from plain numbers: a course of samples, marks and settings → a Session."""

import math
from datetime import UTC, datetime

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import (
    LoadAction,
    LoadChange,
    Mark,
    MarkKind,
    Sample,
    Session,
    SessionEnd,
    SessionHeader,
    Setting,
)
from benchmon.model.units import Unit

CHANNELS = (
    Channel(keys.CLOCK, "clock", Unit.MEGAHERTZ, "test"),
    Channel(keys.PACKAGE_POWER, "package power", Unit.WATT, "test"),
    Channel(keys.PROCESSOR_TEMP, "temperature", Unit.CELSIUS, "test", 1.0),
    Channel(keys.LOAD, "load", Unit.PERCENT, "test"),
)
UNITS = {keys.TEMP_LIMIT: Unit.CELSIUS, keys.CORE_COUNT: Unit.COUNT}


def session(records, channels=CHANNELS, period_s=1.0, tags=None, end=True):
    records = list(records)
    if end:
        last = max((getattr(r, "t_s", 0.0) for r in records), default=0.0)
        records.append(SessionEnd(last, "done"))
    header = SessionHeader("test", datetime(2026, 1, 1, tzinfo=UTC), period_s, tuple(channels), tags or {})
    return Session(header, tuple(records))


def sample(t_s, clock=2400.0, power=10.0, temp=50.0, load=100.0):
    return Sample(float(t_s), (clock, power, temp, load))


def mark(number, t_s, kind, text="", value=None, entered_s=None, replaces=None):
    return Mark(number, t_s, t_s if entered_s is None else entered_s, kind, text, value, replaces)


def setting(key, value):
    return Setting(0.0, key, value, UNITS.get(key, Unit.MEGAHERTZ), "test")


def bench(
    plan, room_c=24.0, k_per_w=2.0, tau_s=60.0, start_c=None, limit_c=None, whole=True, cores=4, walls=(), extra=()
):
    """A bench with one heat store. ``plan``: (name, length [s], watts, busy cores); room None = not entered."""
    records = [setting(keys.CORE_COUNT, float(cores))]
    if limit_c is not None:
        records.append(setting(keys.TEMP_LIMIT, limit_c))
    room = 24.0 if room_c is None else room_c
    temp = start_c if start_c is not None else room + k_per_w * plan[0][2]
    number = 0
    if room_c is not None:
        number += 1
        records.append(mark(number, 0.0, MarkKind.ROOM, value=room_c))
    t = 0
    for name, length_s, watts, busy in plan:
        number += 1
        records.append(mark(number, float(t), MarkKind.PHASE, name))
        records.append(LoadChange(float(t), LoadAction.STARTED if busy else LoadAction.STOPPED, name, busy))
        for _ in range(int(length_s)):
            aim = room + k_per_w * watts
            temp += (aim - temp) * (1 - math.exp(-1.0 / tau_s))
            shown = float(round(temp)) if whole else temp
            records.append(sample(t, power=watts, temp=shown, load=100.0 * busy / cores))
            t += 1
    for at_s, watts in walls:
        number += 1
        records.append(mark(number, float(at_s), MarkKind.WALL, value=watts, entered_s=float(t)))
    return session([*records, *extra])
