from __future__ import annotations

from datetime import UTC, datetime

from benchmon.analysis.intake.series import Observation, ObservationMaker, RisingCount
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import LoadAction, LoadChange, Mark, MarkKind, Sample, SessionHeader, Setting
from benchmon.model.units import Unit

_UNITS = {
    "mhz": Unit.MEGAHERTZ,
    "w": Unit.WATT,
    "c": Unit.CELSIUS,
    "pct": Unit.PERCENT,
    "s": Unit.PER_SECOND,
    "count": Unit.COUNT,
    "step": Unit.STEP,
}


def header(*names: str) -> SessionHeader:
    channels = tuple(Channel(name, name, _UNITS[name.rsplit("_", 1)[1]], "test") for name in names)
    return SessionHeader("abc", datetime(2026, 11, 25, tzinfo=UTC), 1.0, channels)


def feed(maker: ObservationMaker, *records) -> list[Observation]:
    return [seen for record in records if (seen := maker.feed(record)) is not None]


def test_a_sample_becomes_an_observation_by_key():
    maker = ObservationMaker()
    (seen,) = feed(maker, header(keys.PROCESSOR_TEMP, keys.CLOCK, keys.LOAD), Sample(3.0, (71.0, 4200.0, None)))
    assert seen == Observation(3.0, clock_mhz=4200.0, temp_c=71.0)


def test_the_order_of_the_channels_does_not_matter():
    names = (keys.PROCESSOR_TEMP, keys.CLOCK, keys.LOAD, keys.PACKAGE_POWER, keys.CORE_THROTTLE_COUNT)
    values = (71.0, 4200.0, 99.0, 35.0, 7.0)
    forward = feed(ObservationMaker(), header(*names), Sample(1.0, values))
    backward = feed(ObservationMaker(), header(*reversed(names)), Sample(1.0, tuple(reversed(values))))
    assert forward == backward


def test_settings_hold_from_their_record_on_and_can_be_lost():
    maker = ObservationMaker()
    sample = Sample(1.0, (71.0,))
    first, second, third = feed(
        maker,
        header(keys.PROCESSOR_TEMP),
        sample,
        Setting(1.0, keys.TEMP_LIMIT, 90.0, Unit.CELSIUS, "trip"),
        Setting(1.0, keys.GOVERNOR, "schedutil", None, "policy0"),
        sample,
        Setting(2.0, keys.TEMP_LIMIT, None, Unit.CELSIUS, "trip"),
        sample,
    )
    assert [first.temp_limit_c, second.temp_limit_c, third.temp_limit_c] == [None, 90.0, None]


def test_busy_cores_follow_the_load():
    maker = ObservationMaker()
    sample = Sample(1.0, (71.0,))
    seen = feed(
        maker,
        header(keys.PROCESSOR_TEMP),
        sample,
        LoadChange(1.0, LoadAction.STARTED, "matrix", busy_cores=4),
        sample,
        LoadChange(2.0, LoadAction.STOPPED, "matrix"),
        sample,
        LoadChange(3.0, LoadAction.STARTED, "a command"),
        sample,
    )
    assert [one.busy_cores for one in seen] == [None, 4, 0, None]


def test_heat_counters_count_once_although_core_and_package_both_rise_and_one_is_reset():
    maker = ObservationMaker()
    seen = feed(
        maker,
        header(keys.CORE_THROTTLE_COUNT, keys.PACKAGE_THROTTLE_COUNT),
        Sample(1.0, (500.0, 90.0)),
        Sample(2.0, (503.0, 91.0)),
        Sample(3.0, (None, 92.0)),
        Sample(4.0, (1.0, 93.0)),
        Sample(5.0, (3.0, 94.0)),
    )
    assert [one.throttle_count for one in seen] == [0.0, 3.0, 3.0, 3.0, 5.0]


def test_a_counter_that_steps_back_counts_on():
    count = RisingCount()
    for value in (10.0, 12.0, None, 1.0, 4.0):
        count.feed(value)
    assert count.rises == 5.0


def test_clock_and_load_come_from_the_cores_where_the_session_has_no_better():
    names = [keys.core_clock_key(0), keys.core_clock_key(1), keys.core_load_key(0), keys.core_load_key(1)]
    (seen,) = feed(ObservationMaker(), header(*names), Sample(1.0, (4000.0, 800.0, 100.0, 0.0)))
    assert (seen.clock_mhz, seen.load_pct) == (4000.0, 50.0)


def test_one_core_with_a_clock_is_enough():
    names = [keys.core_clock_key(0), keys.core_load_key(0)]
    (seen,) = feed(ObservationMaker(), header(*names), Sample(1.0, (4000.0, 50.0)))
    assert (seen.clock_mhz, seen.load_pct) == (4000.0, 50.0)


def test_other_records_and_samples_before_the_header_say_nothing():
    maker = ObservationMaker()
    assert maker.feed(Mark(1, 1.0, 1.0, MarkKind.NOTE, "lid off")) is None
    assert maker.feed(Sample(1.0, (3.0,))) == Observation(1.0)


def test_what_others_took_from_the_workers_is_no_lost_speed():
    """Half the processor's time went elsewhere: half the units are done, and the work rate of the processor is whole."""

    def rate(*values):
        names = (keys.WORK_RATE, keys.WORK_SHARE)[: len(values)]
        (seen,) = feed(ObservationMaker(), header(*names), Sample(1.0, values))
        return seen.work_rate

    assert rate(50.0, 50.0) == 100.0
    assert rate(50.0) == 50.0
    assert rate(1.0, 2.0) == 1.0
