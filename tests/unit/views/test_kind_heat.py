"""How hot each kind of work is: from records to the list."""

import json

import pytest

from benchmon.analysis.kind_heat import KindHeats, hottest
from benchmon.cli.kind_heat import ORDER
from benchmon.cli.main import main
from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, Sample
from benchmon.model.work_kinds import WORK_KINDS
from benchmon.views.kind_heat_list import as_json, as_text, remarks
from benchmon.virtual_bench.chip import WORK_ACTIVITY
from tests.unit.analysis.test_series import header


@pytest.fixture(autouse=True)
def no_adopting(monkeypatch):
    """The tests' own process must not become the parent of what other tests start."""
    monkeypatch.setattr("benchmon.cli.kind_heat.adopt_orphans", lambda: None)


def started(t_s, work, reason="", **scale):
    return LoadChange(t_s, LoadAction.STARTED, work, 4, reason, work=work, **scale)


def heats_of(*records, channels=(keys.PACKAGE_POWER, keys.WORK_RATE, keys.WORK_SHARE)):
    heats = KindHeats()
    for one in (header(*channels), *records):
        heats.accept(one)
    return heats


def samples(start_s, end_s, *values):
    return [Sample(float(t_s), values) for t_s in range(start_s, end_s)]


RUN = (
    *samples(0, 20, 5.0, None, None),
    started(20.0, "memory", unit_bytes=2e7),
    *samples(21, 30, 99.0, 999.0, 99.0),  # before it counts
    *samples(30, 50, 20.0, 100.0, 99.0),
    LoadChange(50.0, LoadAction.STOPPED, "memory", 4, "the next step"),
    *samples(51, 70, 6.0, None, None),
    started(70.0, "widest", unit_operations=3e7),
    *samples(71, 100, 40.0, 2000.0, 80.0),
    LoadChange(100.0, LoadAction.STOPPED, "widest", 4, "the steps are over"),
)


def test_each_kind_has_its_means_without_its_first_seconds():
    heats = heats_of(*RUN)
    assert heats.idle.mean(keys.PACKAGE_POWER) == 5.0
    assert [heat.kind for heat in heats.kinds] == ["memory", "widest"]
    assert [heat.mean(keys.PACKAGE_POWER) for heat in heats.kinds] == [20.0, 40.0]
    assert hottest(heats).kind == "widest"
    memory, widest = json.loads(as_json(heats, ""))["kinds"]
    assert (memory["work_gbyte_per_s"], memory["work_gflop_per_s"]) == (pytest.approx(2.0), None)
    assert widest["work_gflop_per_s"] == widest["work_gop_per_s"] == pytest.approx(60.0)
    assert widest["clock_mhz"] is None


def test_what_must_be_known_is_said():
    told = " ".join(remarks(heats_of(*RUN), ""))
    assert "Not read here: clock, temperature" in told
    assert "Other programs took 20 % of the cores' time from widest." in told
    assert "from memory" not in told
    assert "Most package power: widest, 40.0 W." in as_text(heats_of(*RUN), "")


def test_no_power_no_ranking():
    heats = heats_of(started(0.0, "scalar"), *samples(1, 30, 3000.0), channels=(keys.CLOCK,))
    assert hottest(heats) is None
    assert "Most package power" not in as_text(heats, "")
    assert "package power" in remarks(heats, "")[0]


def test_what_became_other_work_counts_under_its_true_name():
    why = "numpy cannot be loaded, so that this runs in place of widest arithmetic"
    heats = heats_of(started(0.0, "widest"), started(0.4, "scalar", why), *samples(1, 31, 30.0, 300.0, 99.0))
    assert [heat.kind for heat in heats.kinds] == ["scalar"]
    assert f"scalar: {why}." in remarks(heats, "")


def test_a_kind_that_was_stopped_says_so():
    stop = LoadChange(12.0, LoadAction.STOPPED, "scalar", 4, "guard: processor at 104 °C, above 103 °C")
    heats = heats_of(
        started(0.0, "scalar"), *samples(1, 12, 30.0, 300.0, 99.0), stop, *samples(12, 70, 5.0, None, None)
    )
    text = as_text(heats, "the load was stopped")
    assert "scalar was cut short: guard: processor at 104 °C" in text
    assert "Ended before all kinds had run: the load was stopped." in text
    assert "Most package power" not in text
    assert heats.kinds[0].mean(keys.PACKAGE_POWER) == 30.0


def test_every_kind_is_run_the_hottest_last():
    assert set(ORDER) == set(WORK_KINDS)
    assert list(ORDER) == sorted(ORDER, key=lambda kind: WORK_ACTIVITY[kind])


def test_on_a_virtual_machine_the_kinds_draw_what_its_model_says(capsys):
    assert main(["channels", "--loads", "--virtual", "3", "--speed", "600", "--json"]) == 0
    said, progress = capsys.readouterr()
    found = json.loads(said)
    power = {kind["work"]: kind["package_power_w"] for kind in found["kinds"]}
    assert list(power) == list(ORDER)
    assert sorted(power, key=power.get) == list(ORDER)
    assert found["most_power"] == "mixture"
    assert found["idle"]["package_power_w"] < 0.5 * min(power.values())
    assert found["complete"]
    assert "widest arithmetic, 1:20 left in all" in progress


def test_the_guard_ends_it(capsys):
    assert main(["channels", "--loads", "--virtual", "3", "--speed", "600", "--stop-at", "50"]) == 7
    said = capsys.readouterr().out
    assert "guard: processor at 51 °C, above 50 °C" in said
    assert "widest" not in said


def test_a_temperature_to_stop_at_needs_a_load(capsys):
    assert main(["channels", "--stop-at", "80"]) == 2
    assert "--loads" in capsys.readouterr().err
