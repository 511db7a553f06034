"""A reading that stands still though the load changed is said on the sheet."""

from datetime import UTC, datetime

import pytest

from benchmon.analysis.intake.standstill import Standstill
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import LoadAction, LoadChange, Sample, SessionHeader
from benchmon.model.units import Unit


def notes_of(temps, changed_s=10.0, action=LoadAction.STARTED):
    standstill = Standstill()
    channel = Channel(keys.PROCESSOR_TEMP, "temperature", Unit.CELSIUS, "a file")
    standstill.feed(SessionHeader("x", datetime(2026, 1, 1, tzinfo=UTC), 1.0, (channel,)))
    for t_s, temp_c in enumerate(temps):
        if t_s == changed_s:
            standstill.feed(LoadChange(float(t_s), action, "work"))
        standstill.feed(Sample(float(t_s), (temp_c,)))
    return standstill.notes()


def test_frozen_under_a_changed_load():
    (note,) = notes_of([45.0] * 80)
    assert "stood still at 45 °C for 79 s" in note


@pytest.mark.parametrize(
    "temps",
    [
        [45.0] * 69,  # 59 s after the change: not yet
        [45.0] * 15 + [46.0] * 100,  # it moved after the change
        [*range(40, 50), *[71.0] * 200],  # a plateau, reached after the change
        [None] * 200,
    ],
)
def test_what_may_stand_still(temps):
    assert notes_of(temps) == ()


def test_without_a_change_a_steady_reading_is_none_of_its_business():
    assert notes_of([45.0] * 200, changed_s=-1.0) == ()
    assert notes_of([45.0] * 200, action=LoadAction.FAILED) == ()
