"""A finished summary with something in every field, made by hand: a machine that does not exist."""

from datetime import UTC, datetime

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.findings import (
    Capacity,
    Figure,
    Forecast,
    PhaseFindings,
    Quality,
    Settling,
    Spread,
    Summary,
    ThermalFindings,
    ThermalLine,
    WallFindings,
)
from benchmon.model.records import Machine, Mark, MarkKind, SessionHeader, Setting
from benchmon.model.units import Unit

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
    tags={"paste": "fresh", "lid": "off"},
    made_by="benchmon 0.1.0",
)

HEAT = ThrottleEvent(
    number=1,
    cause=Cause.THERMAL,
    first_cause=Cause.UNEXPLAINED,
    start_s=185.0,
    end_s=480.0,
    announced_s=187.0,
    confidence=0.97,
    evidence=("temperature held at 73 °C while power fell from 34.8 to 22.1 W",),
    would_settle="a reading of the limit temperature",
    clock_before_mhz=2400.0,
    clock_held_mhz=1380.0,
    clock_lowest_mhz=1200.0,
    power_before_w=34.8,
    power_held_w=22.1,
    power_lowest_w=20.0,
    temp_onset_c=73.0,
    temp_plateau_c=73.0,
    limited_share=0.94,
    recoveries=3,
    work_lost=0.42,
    energy_j=6519.0,
    revision=1,
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
        room_c=24.0,
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
        machine=Machine(2.0, "Foxglove 45 quad", "Foxglove board 2", "Bench Box Two", "Linux 6.1", 4, 4, 7.7),
        settings={
            keys.RATED_CLOCK: Setting(0.0, keys.RATED_CLOCK, 2400.0, Unit.MEGAHERTZ, "base_frequency"),
            keys.TURBO: Setting(0.0, keys.TURBO, "off", None, "boost"),
            keys.TEMP_LIMIT: Setting(0.0, keys.TEMP_LIMIT, 73.0, Unit.CELSIUS, "temp1_max"),
            keys.POWER_LIMIT_LONG: Setting(0.0, keys.POWER_LIMIT_LONG, 45.0, Unit.WATT, "constraint_0"),
            keys.POWER_WINDOW_LONG: Setting(0.0, keys.POWER_WINDOW_LONG, 27.983872, Unit.SECOND, "constraint_0"),
        },
        tags={"paste": "fresh", "lid": "off"},
        marks=(Mark(1, 0.0, 0.0, MarkKind.ROOM, value=24.0),),
        phases=(
            _phase("idle", 0.0, 60.0, 800.0, 3.0, 40.0, settled=True, wall_w=15.0),
            _phase("one core", 60.0, 120.0, 2400.0, 10.0, 60.0, settled=False, wall_w=24.0),
            _phase(
                "all cores",
                120.0,
                None,
                1500.0,
                22.1,
                73.0,
                settled=None,
                events=(1,),
                resistance_k_per_w=Figure(2.22, 2.1, 2.34),
                score=1234.0,
                score_name="points",
                score_per_watt=Figure(55.8, None, None),
            ),
        ),
        events=(HEAT,),
        thermal=ThermalFindings(
            room_c=Figure(24.0, 23.0, 25.0),
            room_source="entered",
            limit_c=Figure(73.0, 72.4, 73.6),
            limit_source="the sensors",
            resistance_k_per_w=Figure(2.22, 2.1, 2.34),
            line=ThermalLine(
                Figure(2.2, 2.1, 2.3), Figure(9.0, 8.0, 10.0), -0.01, 1.5, ("idle",), {"one core": "not settled"}
            ),
            line_why_not="",
            capacity=Capacity(Figure(22.1, 21.3, 22.9), Figure(why_not="the limit was reached"), None),
            sentences=("In a 24 °C room this cooler holds 22 ± 1 W at its limit of 73 °C.",),
        ),
        forecasts=(Forecast(130.0, "all cores", Figure(88.0, 84.0, 92.0), Figure(700.0), Figure(190.0), 73.0),),
        wall=WallFindings(Figure(11.1, 9.0, 13.0), Figure(1.3, 1.2, 1.4), Figure(0.77, 0.7, 0.83), 0.87, ()),
        quality=Quality(960, 480.0, 1, 2.5, {"fan_1_rpm": "device gone"}, ("One gap of 2.5 s.",)),
        detector_version="1",
        is_complete=True,
    )
