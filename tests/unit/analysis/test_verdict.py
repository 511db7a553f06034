"""The thermal verdict: what a careful person would sign, and what bad input gets."""

import pytest

from benchmon.analysis.options import AnalysisOptions
from benchmon.errors import UsageError
from benchmon.model import keys
from benchmon.model.records import MarkKind, Sample
from benchmon.views.words.verdict import verdict
from tests.support import practice_traces as practice
from tests.support.bench_sessions import CHANNELS, bench, mark, sample, session, setting
from tests.support.conclusions import concluded

PRACTICE = [("idle", 900, 3.0, 0), ("one core", 900, 10.0, 1), ("all cores", 900, 15.0, 4)]


def covers(figure, truth):
    return figure.low <= truth <= figure.high


def said(summary):
    return " ".join(verdict(summary))


def practice_session(rows, settings, room_c=24.0):
    order = [channel.key for channel in CHANNELS]
    records = [setting(key, value) for key, value in settings.items()]
    records.append(mark(1, 0.0, MarkKind.ROOM, value=room_c))
    return session([*records, *(Sample(t, tuple(values[key] for key in order)) for t, values in rows)])


def test_a_cooler_good_for_20_to_24_w():
    """Common practice, no source: 22 W held at 73 °C in a 24 °C room after failing at 35 W."""
    made = practice_session(practice.too_hot(), practice.SETTINGS_TOO_HOT)
    summary = concluded(made, AnalysisOptions(part_watts=35.0))
    measured = summary.thermal.capacity.measured_w
    assert measured.value == pytest.approx(22.0, abs=0.5)
    assert 20.0 < measured.low < 22.0 < measured.high < 24.0
    assert summary.thermal.limit_source == "an observed plateau"
    assert summary.thermal.part.answer == "no"
    assert summary.thermal.part.margin_w.value == pytest.approx(-13.0, abs=0.7)
    assert covers(summary.thermal.resistance_k_per_w, (73 - 24) / 22.0)
    assert "22 ± 2 W" in said(summary) and "measured" in said(summary)
    assert "A 35 W part would exceed the limit" in said(summary) and "13 W too little" in said(summary)
    assert concluded(made, AnalysisOptions(part_watts=18.0)).thermal.part.answer == "yes"
    assert concluded(made, AnalysisOptions(part_watts=22.0)).thermal.part.answer == "cannot say"


def test_a_warmer_room_takes_watts_and_a_cooler_one_gives_them():
    made = practice_session(practice.too_hot(), practice.SETTINGS_TOO_HOT)
    warm = concluded(made, AnalysisOptions(room_c=34.0)).thermal.capacity.measured_w
    assert warm.value == pytest.approx(22.0 * (73 - 34) / (73 - 24), rel=0.03)


def test_another_limit_is_worked_out_and_less_certain_than_what_was_measured():
    made = practice_session(practice.too_hot(), practice.SETTINGS_TOO_HOT)
    seen = concluded(made)
    high = concluded(made, AnalysisOptions(limit_c=90.0))
    measured, scaled = seen.thermal.capacity.measured_w, high.thermal.capacity.measured_w
    factor = (90 - 24) / (73 - 24)  # or a little more: a fan or a draught may answer to the heat
    assert measured.value * factor * 0.98 < scaled.value < measured.value * factor * 1.08
    assert scaled.high - scaled.low > factor * (measured.high - measured.low)
    assert "(measured)" in said(seen)
    assert "(measured)" not in said(high) and "converted to this limit" in said(high)


def test_a_part_that_never_reached_the_limit():
    """Common practice, no source: 10 W at 60 °C on one core, 15 W at 71 °C on all, in 24 °C; a 35 W part failed there."""
    made = practice_session(practice.cool_enough(), practice.SETTINGS_COOL_ENOUGH)
    thermal = concluded(made, AnalysisOptions(part_watts=35.0, limit_c=90.0)).thermal
    assert thermal.capacity.measured_w.value is None
    assert 20.0 < thermal.capacity.predicted_w.value < 24.0
    assert thermal.part.answer == "no"
    assert covers(thermal.resistance_k_per_w, (71 - 24) / 15.0)


def test_line_of_idle_and_all_cores_leaves_one_core_out_and_says_so():
    """One core at 10 W reads hotter than the line: a hot core (common practice, 3 / 10 / 15 W at 40 / 60 / 71 °C)."""
    summary = concluded(bench(PRACTICE, k_per_w=2.0, limit_c=100.0))
    line = summary.thermal.line
    assert line.phases == ("idle", "all cores")
    assert "hot core" in line.left_out["one core"]
    assert covers(line.slope_k_per_w, 2.0)
    assert covers(line.intercept_k, 0.0)
    assert covers(summary.thermal.capacity.predicted_w, 38.0)
    assert line.covariance < 0 and 2 < line.degrees_of_freedom < 1000


def test_doubt_of_a_resistance_by_hand():
    """GUM 5.1.2 by hand for T = 54 °C, 24 °C, 15 W: steps of 1 °C count 1/√6 K, room 0.5 K, power 1 %."""
    summary = concluded(bench([("idle", 300, 3.0, 0), ("all cores", 3600, 15.0, 4)]))
    found = summary.phases[1].resistance_k_per_w
    u = (found.high - found.low) / 2 / 2.0
    least = 2.0 * ((1 / 6 + 0.25) / 30**2 + 0.01**2) ** 0.5
    assert covers(found, 2.0)
    assert least * 0.95 < u < least * 2.2


@pytest.mark.parametrize(
    ("watts", "tcase", "room", "printed"),
    [
        (100, 67.0, 38.0, 0.29),
        (95, 72.6, 40.0, 0.34),
        (95, 72.6, 45.0, 0.29),
        (91, 63.7, 40.0, 0.26),
        (91, 63.7, 45.0, 0.21),
    ],
)
def test_resistance_of_vendors_worked_examples(watts, tcase, room, printed):
    """Intel thermal guide for Core2 Duo, p. 29; 4th Gen Core datasheet 328897-004, p. 72; 8th/9th Gen vol. 1, p. 108."""
    plan = [("idle", 600, 10.0, 0), ("all cores", 1800, float(watts), 4)]
    summary = concluded(bench(plan, room_c=room, k_per_w=(tcase - room) / watts, whole=False))
    assert summary.phases[1].resistance_k_per_w.value == pytest.approx(printed, abs=0.011)


def test_limit_from_the_sensors_given_or_unknown():
    plan = [("idle", 600, 3.0, 0), ("all cores", 900, 15.0, 4)]
    assert concluded(bench(plan, limit_c=95.0)).thermal.limit_source == "the sensors"
    assert concluded(bench(plan, limit_c=95.0), AnalysisOptions(limit_c=80.0)).thermal.limit_source == "given by you"
    unknown = concluded(bench(plan))
    assert unknown.thermal.limit_c.value is None and unknown.thermal.capacity.predicted_w.value is None
    assert "no limit temperature" in said(unknown)


def test_without_a_room():
    summary = concluded(bench([("idle", 600, 3.0, 0), ("all cores", 900, 15.0, 4)], room_c=None, limit_c=95.0))
    assert "No room temperature was entered" in said(summary) and "settling and power stand" in said(summary)
    assert summary.thermal.resistance_k_per_w.value is None
    assert summary.phases[1].settling[keys.PROCESSOR_TEMP].settled


def test_a_room_given_afterwards_does_for_the_run_too():
    made = bench([("idle", 600, 3.0, 0), ("all cores", 900, 15.0, 4)], room_c=None, limit_c=95.0)
    thermal = concluded(made, AnalysisOptions(room_c=24.0)).thermal
    assert thermal.room_source == "given by you, and taken for the run's too"
    assert covers(thermal.resistance_k_per_w, 2.0)


def test_a_criterion_that_does_not_exist_is_a_users_mistake():
    with pytest.raises(UsageError, match="no settling criterion"):
        concluded(bench([("all cores", 60, 15.0, 4)]), AnalysisOptions(criterion="mine"))


def test_without_power():
    records = [mark(1, 0.0, MarkKind.ROOM, value=24.0)]
    records += [Sample(float(t), (2400.0, None, 50.0, 100.0)) for t in range(700)]
    summary = concluded(session(records))
    assert "Package power was not read" in said(summary)
    assert summary.phases[0].settling[keys.PROCESSOR_TEMP].settled


def test_without_temperature():
    summary = concluded(session([Sample(float(t), (2400.0, 10.0, None, 100.0)) for t in range(200)]))
    assert said(summary) == "No processor temperature was read: nothing can be said about heat."
    assert summary.thermal.capacity.measured_w.why_not == "no processor temperature was read"


def test_one_phase_only_and_phases_all_alike():
    one = concluded(bench([("all cores", 1200, 15.0, 4)], start_c=30.0, limit_c=95.0))
    assert one.thermal.line is None and "two settled phases" in one.thermal.line_why_not
    assert one.thermal.capacity.predicted_w.value is not None
    alike = concluded(bench([("all cores", 900, 15.0, 4), ("again", 900, 15.5, 4)], start_c=54.0, limit_c=95.0))
    assert alike.thermal.line is None and "too much alike" in alike.thermal.line_why_not


def test_a_room_that_drifted():
    plan = [("idle", 600, 3.0, 0), ("all cores", 900, 15.0, 4)]
    summary = concluded(bench(plan, extra=[mark(90, 1400.0, MarkKind.ROOM, value=27.0)]))
    assert any("room moved between 24.0 and 27.0" in note for note in summary.quality.notes)
    assert summary.phases[0].room_c < summary.phases[1].room_c


def test_a_sensor_that_reads_below_the_room():
    summary = concluded(
        bench(
            [("idle", 900, 3.0, 0), ("all cores", 900, 15.0, 4)], room_c=24.0, start_c=20.0, k_per_w=-0.2, limit_c=90.0
        )
    )
    assert "below the room" in summary.phases[1].resistance_k_per_w.why_not
    assert summary.thermal.capacity.predicted_w.value is None


def test_a_limit_below_what_was_seen():
    summary = concluded(bench(PRACTICE, k_per_w=3.0), AnalysisOptions(limit_c=50.0))
    assert "is below the 69 °C that was reached" in said(summary)


def test_throttled_phase_is_no_equilibrium():
    made = practice_session(practice.too_hot(), practice.SETTINGS_TOO_HOT)
    row = concluded(made).phases[-1]
    settling = row.settling[keys.PROCESSOR_TEMP]
    assert settling.settled is None and "throttled by heat" in settling.why
    assert row.resistance_k_per_w.value is None


def test_empty_and_tiny_sessions():
    assert concluded(session([])).phases == ()
    tiny = concluded(session([sample(0), sample(1)]), AnalysisOptions(part_watts=35.0))
    assert tiny.thermal.part.answer == "cannot say"
