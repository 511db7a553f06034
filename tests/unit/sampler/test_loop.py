"""The grid of deadlines: never a burst, never a silent hole, never a drift."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmon.model.records import ChannelState, Gap, Sample, Setting
from benchmon.sampler.loop import Sampler
from benchmon.sensors.settings import SettingValue
from tests.support.manual_clock import ManualClock
from tests.support.scripted_sensor import ScriptedSensor


def never(_seconds):
    return False


def rounds(sampler, clock, count):
    records = []
    for _ in range(count):
        sampler.sleep_until_s(sampler.due_s, never)
        records += sampler.one_round()
    return records


def samples(records):
    return [record for record in records if isinstance(record, Sample)]


def gaps(records):
    return [record for record in records if isinstance(record, Gap)]


def test_samples_lie_on_the_grid():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([50.0])], clock, 0.5)
    found = rounds(sampler, clock, 5)
    assert [sample.t_s for sample in samples(found)] == pytest.approx([0, 0.5, 1.0, 1.5, 2.0])
    assert gaps(found) == []


def test_lateness_does_not_add_up():
    clock = ManualClock()
    clock.late_s = 0.09
    sampler = Sampler([ScriptedSensor([50.0])], clock, 0.5)
    found = rounds(sampler, clock, 100)
    assert samples(found)[-1].t_s == pytest.approx(99 * 0.5 + 0.09)
    assert gaps(found) == []


def test_a_missed_deadline_is_a_gap_and_no_burst():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([50.0])], clock, 0.1)
    rounds(sampler, clock, 3)  # 0, 0.1, 0.2
    clock.pass_s(1.03)  # not let run until 1.23
    found = rounds(sampler, clock, 3)
    assert [sample.t_s for sample in samples(found)] == pytest.approx([1.23, 1.3, 1.4])
    assert gaps(found) == [Gap(pytest.approx(0.2), pytest.approx(1.23), "late")]


def test_the_gap_comes_before_the_sample_that_ends_it():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([50.0])], clock, 0.1)
    rounds(sampler, clock, 1)
    clock.pass_s(5.0)
    kinds = [type(record) for record in sampler.one_round()]
    assert kinds == [Gap, Sample]


def test_suspend_is_a_gap_of_its_own_kind():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([50.0])], clock, 1.0)
    rounds(sampler, clock, 2)
    clock.suspend_s(3600)
    (gap,) = gaps(rounds(sampler, clock, 1))
    assert gap.reason == "suspend"
    assert gap.end_s - gap.start_s == pytest.approx(3600)


def test_a_suspend_shorter_than_a_period_is_told_too():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([50.0])], clock, 10.0)
    rounds(sampler, clock, 2)
    clock.suspend_s(4)
    (gap,) = gaps(rounds(sampler, clock, 1))
    assert gap.reason == "suspend"


def test_slow_reading_is_measured_and_skips_deadlines():
    clock = ManualClock()
    slow = ScriptedSensor([50.0], on_read=lambda: clock.pass_s(0.25))
    sampler = Sampler([slow], clock, 0.1)
    found = rounds(sampler, clock, 4)
    assert [sample.read_cost_s for sample in samples(found)] == pytest.approx([0.25] * 4)
    times = [sample.t_s for sample in samples(found)]
    assert all(later - earlier >= 0.1 for earlier, later in zip(times, times[1:]))
    assert len(gaps(found)) == 3


@given(st.lists(st.floats(0.0, 3.0), min_size=1, max_size=40), st.sampled_from([0.1, 0.25, 0.5, 1.0, 10.0]))
def test_whatever_holds_it_up_there_is_one_sample_for_each_deadline_at_most(delays, period_s):
    clock = ManualClock(123_456.789)
    sampler = Sampler([ScriptedSensor([1.0])], clock, period_s)
    records = []
    for delay in delays:
        clock.pass_s(delay)
        records += rounds(sampler, clock, 1)
    slots = [int(sample.t_s / period_s + 1e-6) for sample in samples(records)]
    assert slots == sorted(set(slots))
    holes = sum(1 for earlier, later in zip(slots, slots[1:]) if later > earlier + 1)
    assert len(gaps(records)) == holes


def test_each_sensor_gets_the_moment_of_its_own_reading():
    clock = ManualClock()
    first = ScriptedSensor([1.0], on_read=lambda: clock.pass_s(0.02))
    second = ScriptedSensor([2.0], key="other_c")
    Sampler([first, second], clock, 1.0).one_round()
    assert first.times_s == pytest.approx([0.0])
    assert second.times_s == pytest.approx([0.02])


def test_a_virtual_machine_is_brought_up_to_date_first_and_stands_still():
    clock = ManualClock()
    moved = []
    sensor = ScriptedSensor([1.0], on_read=lambda: clock.pass_s(0.2))
    other = ScriptedSensor([1.0], key="other_c")
    sampler = Sampler([sensor, other], clock, 1.0, prepare=moved.append)
    rounds(sampler, clock, 2)
    assert moved == sensor.times_s == other.times_s


def test_channels_that_come_and_go_are_recorded_with_the_reason():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([50.0, None, None, 51.0])], clock, 1.0)
    found = [record for record in rounds(sampler, clock, 5) if isinstance(record, ChannelState)]
    assert found == [
        ChannelState(1.0, "processor_temp_c", False, "device gone"),
        ChannelState(3.0, "processor_temp_c", True, ""),
    ]


def test_no_value_in_the_first_sample_is_no_news():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([None, 50.0])], clock, 1.0)
    assert [type(record) for record in rounds(sampler, clock, 3)] == [Sample] * 3


def test_a_channel_that_never_has_a_value_is_told_once():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([None])], clock, 1.0)
    states = [record for record in rounds(sampler, clock, 6) if isinstance(record, ChannelState)]
    assert states == [ChannelState(1.0, "processor_temp_c", False, "device gone")]


def test_no_value_for_no_particular_reason_is_no_news():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([50.0, None, 51.0], reason="")], clock, 1.0)
    assert [type(record) for record in rounds(sampler, clock, 4)] == [Sample] * 4


def test_a_faulty_sensor_does_not_end_the_recording():
    clock = ManualClock()
    broken = ScriptedSensor([50.0, RuntimeError("oh"), 52.0])
    sampler = Sampler([broken, ScriptedSensor([7.0], key="other_c")], clock, 1.0)
    found = rounds(sampler, clock, 3)
    assert [sample.values for sample in samples(found)] == [(50.0, 7.0), (None, 7.0), (52.0, 7.0)]
    states = [record for record in found if isinstance(record, ChannelState)]
    assert "RuntimeError: oh" in states[0].reason
    assert states[1].readable


def test_settings_come_first_and_again_only_when_they_change():
    clock = ManualClock()
    governor = ["powersave"]
    sampler = Sampler(
        [ScriptedSensor([1.0])], clock, 1.0, lambda: (SettingValue("governor", governor[0], None, "a file"),)
    )
    first = sampler.one_round()
    assert [type(record) for record in first] == [Setting, Sample]
    assert [record for record in rounds(sampler, clock, 12) if isinstance(record, Setting)] == []
    governor[0] = "performance"
    changed = [record for record in rounds(sampler, clock, 6) if isinstance(record, Setting)]
    assert [(record.key, record.value) for record in changed] == [("governor", "performance")]
    assert sampler.settings["governor"].value == "performance"


def test_a_wait_that_is_rung_ends_early():
    clock = ManualClock()
    sampler = Sampler([ScriptedSensor([1.0])], clock, 1.0)
    sampler.one_round()
    sampler.sleep_until_s(sampler.due_s, lambda _seconds: True)
    assert sampler.now_s == 0.0


def test_a_peek_reads_one_sensor_only():
    first, second = ScriptedSensor([50.0]), ScriptedSensor([7.0], key="other_c")
    sampler = Sampler([first, second], ManualClock(), 10.0)
    assert sampler.peek("other_c") == 7.0
    assert sampler.peek("no_such_c") is None
    assert (len(first.times_s), len(second.times_s)) == (0, 1)
