"""A processor with its own sensors: coretemp, energy counters in model-specific registers, and heat events that are counted.

The kernel's drivers are stock; the registers that the emulated processor lacks are answered by a small module (rig/msrshim).
"""

import pytest

from benchmon.model import keys
from benchmon.model.records import Setting
from tests.kernel.guest import mean_power_errors, overlap_s

pytestmark = pytest.mark.kernel


def test_the_processors_own_sensor_is_chosen(counted):
    at = counted.keys().index(keys.PROCESSOR_TEMP)
    chosen = counted.session.header.channels[at]
    assert "coretemp" in chosen.source or "coretemp" in chosen.label or "coretemp" in counted.channels["chosen_temp"]
    for t_s, temp_c in counted.channel(keys.PROCESSOR_TEMP):  # whole degrees, and the driver reads anew once a second
        seen = counted.truth.around(t_s - 0.5, "die_c", 0.8)
        assert min(seen) - 1.5 <= temp_c <= max(seen) + 1.5, t_s


def test_the_package_is_counted_once_though_it_is_offered_twice(counted):
    """The same energy behind the register and behind the memory-mapped interface."""
    assert len([file for file, _, name in counted.listing if name == "package-0"]) == 2
    assert max(map(abs, mean_power_errors(counted, keys.PACKAGE_POWER))) <= 0.03


def test_heat_events_are_counted(counted):
    counts = [value for _, value in counted.channel(keys.CORE_THROTTLE_COUNT)]
    assert counts == sorted(counts)
    assert counts[-1] > counts[0]


def test_settings_say_where_the_processor_protects_itself(counted):
    settings = {r.key: r.value for r in counted.session.records if isinstance(r, Setting)}
    assert settings[keys.TEMP_LIMIT] in {90, 100}  # the kernel's passive trip, the firmware's limit


def test_the_counter_is_evidence(counted):
    stretches = counted.truth.limited("cool0", 0, apart_s=20.0)
    heat = [event for event in counted.events if event["cause"] == "thermal"]
    last_s = counted.samples[-1].t_s
    assert any(overlap_s(event, stretch, last_s) > 5 for event in heat for stretch in stretches)
    assert any(one["kind"] == "heat_counted" for event in heat for one in event["evidence"]), heat
