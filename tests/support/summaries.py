"""A finished summary with something in every field, made by hand: a machine that does not exist."""

from datetime import UTC, datetime

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.events import Cause, Evidence, EvidenceKind, Level, ThrottleEvent, Wanted
from benchmon.model.findings import (
    Capacity,
    Figure,
    Forecast,
    Grounds,
    PhaseFindings,
    Quality,
    Score,
    Settling,
    Spread,
    Summary,
    ThermalFindings,
    ThermalLine,
    WallFindings,
)
from benchmon.model.records import Machine, Mark, MarkKind, SessionHeader, Setting
from benchmon.model.units import Unit
from benchmon.virtual_bench import demo

CHANNELS = (
    Channel(keys.CLOCK, "clock of the busy cores", Unit.MEGAHERTZ, "scaling_cur_freq"),
    Channel(keys.PACKAGE_POWER, "package power", Unit.WATT, "energy_uj"),
    Channel(keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS, "temp1_input", 1.0),
)

HEADER = SessionHeader(
    session_id="0123456789abcdef",
    started_at=datetime(2026, 3, 1, 9, 30, tzinfo=UTC),
    period_s=0.5,
    channels=CHANNELS,
    tags={"duct": "none", "lid": "on"},
    made_by="benchmon 0.1.0",
)

SUSTAINED = Level(
    start_s=360.0,
    end_s=480.0,
    clock_mhz=2730.0,
    power_w=38.7,
    work_per_s=655.0,
    wall_w=53.8,
    temp_last_c=82.0,
    temp_highest_c=83.0,
    is_settled=True,
)
BEFORE = Level(
    start_s=120.0, end_s=185.0, clock_mhz=3500.0, power_w=52.4, work_per_s=840.0, temp_last_c=81.5, temp_highest_c=81.6
)

HEAT = ThrottleEvent(
    number=1,
    cause=Cause.THERMAL,
    first_cause=Cause.UNEXPLAINED,
    start_s=185.0,
    end_s=480.0,
    announced_s=187.0,
    causes={Cause.THERMAL: 0.97, Cause.POWER_LIMIT: 0.02, Cause.OUTSIDE: 0.0, Cause.UNEXPLAINED: 0.01},
    evidence=(
        Evidence(
            EvidenceKind.HELD_WHILE_POWER_MOVED,
            3.8,
            {"temp_c": 82.0, "length_s": 290.0, "first_w": 52.4, "last_w": 38.9},
        ),
    ),
    wanted=(Wanted.TEMP_LIMIT,),
    clock_before_mhz=3500.0,
    clock_held_mhz=2790.0,
    clock_lowest_mhz=2710.0,
    power_before_w=52.4,
    power_held_w=39.9,
    power_lowest_w=38.6,
    temp_onset_c=82.0,
    temp_plateau_c=82.0,
    temp_told_c=97.0,
    limited_share=0.94,
    recoveries=3,
    work_lost=0.2,
    energy_j=11770.0,
    revision=1,
    sustained=SUSTAINED,
)


def _phase(name, start_s, end_s, clock, power, temp, *, settled, events=(), **more):
    return PhaseFindings(
        name=name,
        start_s=start_s,
        end_s=end_s,
        means={
            keys.CLOCK: Spread(clock, clock - 10, clock + 10, clock, 120),
            keys.PACKAGE_POWER: Spread(power, power - 0.5, power + 0.5, power, 119),
            keys.PROCESSOR_TEMP: Spread(temp - 1, temp - 5, temp, temp, 120),
        },
        room_c=19.0,
        settling={
            keys.PROCESSOR_TEMP: Settling(
                settled, end_s - 20 if settled and end_s else None, 0.4, "at most 1 K in 5 min (IEC 62368-1 B.1.6)"
            )
        },
        events=events,
        **more,
    )


def full_summary() -> Summary:
    """Three phases, one heat event, a verdict, wall readings."""
    return Summary(
        header=HEADER,
        machine=Machine(2.0, demo.NAME, "board 2", "small box", "Linux 6.1", 6, 6, 15.4),
        settings={
            keys.RATED_CLOCK: Setting(0.0, keys.RATED_CLOCK, demo.CHIP.rated_mhz, Unit.MEGAHERTZ, "base_frequency"),
            keys.TURBO: Setting(0.0, keys.TURBO, "off", None, "boost"),
            keys.TEMP_LIMIT: Setting(0.0, keys.TEMP_LIMIT, demo.TOLD_LIMIT_C, Unit.CELSIUS, "temp1_max"),
            keys.POWER_LIMIT_LONG: Setting(0.0, keys.POWER_LIMIT_LONG, demo.POWER_LIMIT_W, Unit.WATT, "constraint_0"),
            keys.POWER_WINDOW_LONG: Setting(0.0, keys.POWER_WINDOW_LONG, 31.981568, Unit.SECOND, "constraint_0"),
        },
        tags={"duct": "none", "lid": "on"},
        marks=(Mark(1, 0.0, 0.0, MarkKind.ROOM, value=19.0),),
        phases=(
            _phase("idle", 0.0, 60.0, 1100.0, 4.9, 33.0, settled=True, wall_w=14.4),
            _phase("one core", 60.0, 120.0, 4200.0, 18.3, 49.0, settled=False, wall_w=30.2),
            _phase(
                "all cores",
                120.0,
                None,
                2950.0,
                38.9,
                82.0,
                settled=None,
                events=(1,),
                throttled_after_s=65.0,
                before=BEFORE,
                sustained=SUSTAINED,
                resistance_k_per_w=Figure(1.62, 1.5, 1.74),
                scores=(
                    Score(1234.0, "points", Figure(31.7, 31.1, 32.3), "package"),
                    Score(77.0, "zip", Figure(1.98, 1.94, 2.02), "package"),
                ),
            ),
        ),
        events=(HEAT,),
        thermal=ThermalFindings(
            room_c=Figure(19.0, 18.0, 20.0),
            room_source="entered",
            limit_c=Figure(82.0, 81.4, 82.6),
            limit_source="an observed plateau",
            resistance_k_per_w=Figure(1.62, 1.5, 1.74),
            line=ThermalLine(
                Figure(1.6, 1.5, 1.7), Figure(5.0, 4.0, 6.0), -0.01, 1.5, ("idle",), {"one core": "not settled"}
            ),
            line_why_not="",
            capacity=Capacity(
                Figure(38.9, 38.1, 39.7), Figure(why_not="the limit was reached"), None, sustained=SUSTAINED
            ),
            grounds=Grounds(phase="one core", rise_k=30.0, power_w=18.3, time_constant_s=82.0, highest_c=83.0),
        ),
        forecasts=(
            Forecast(130.0, "all cores", Figure(112.0, 108.0, 116.0), Figure(700.0), Figure(190.0), demo.TOLD_LIMIT_C),
        ),
        wall=WallFindings(Figure(8.6, 7.9, 9.3), Figure(1.16, 1.1, 1.22), Figure(0.86, 0.82, 0.91), 0.87, ()),
        quality=Quality(960, 480.0, 1, 2.5, {"fan_1_rpm": "device gone"}, ("One gap of 2.5 s.",)),
        detector_version="1",
        is_complete=True,
    )
