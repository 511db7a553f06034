"""Sheet and comparison of one run show the same figures, digit for digit, throttled or not."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.analysis.summary import NO_LOOKS_S, summarise
from benchmon.model.records import Session
from benchmon.session.reader import read_session
from benchmon.views.sheets import document_json as sheet_json
from benchmon.views.sheets.comparison import document_json as comparison_json
from benchmon.views.sheets.comparison.content import make_comparison
from benchmon.views.sheets.phase_table import more_table, phase_table
from benchmon.virtual_bench.demo import CHIP
from tests.support.make_recordings import STARTED
from tests.support.story_recordings import Story

RECORDINGS = Path(__file__).resolve().parents[3] / "recordings"
NAMES = ("box-as-bought", "box-in-a-warm-room", "box-with-duct")  # throttled; throttled, another room; never
COLUMNS = {
    "clock": ("clock", "clock, at first"),
    "package": ("package power", "package power, at first"),
    "temp, end": ("temperature, at the end", "temperature, at first"),
}
PLAIN = {"wall, read": "wall power", "rise, end": "rise over the room, at the end"}


@pytest.fixture(scope="module")
def sessions():
    return [read_session(RECORDINGS / f"{name}.session.jsonl") for name in NAMES]


@pytest.fixture(scope="module")
def summaries(sessions):
    return [summarise(one, look_every_s=NO_LOOKS_S) for one in sessions]


@pytest.fixture(scope="module")
def comparisons(sessions):
    """The first two, and the throttled one with the one that never was."""
    runs = [bench_run(one, name) for one, name in zip(sessions, NAMES, strict=True)]
    return {(0, 1): compare(runs[:2]), (0, 2): compare([runs[0], runs[2]])}


def lines_of(summary):
    """Phase → its lines on the sheet: ``""`` of one that was not throttled, ``at first`` and ``sustained`` of one."""
    table, found, phase = phase_table(summary.phases, summary.quality.duration_s, 3000.0), {}, ""
    heads = [name.replace(", mean", "") for name, _ in table.headings()]
    for row in table.rows:
        phase = phase if row[0].startswith("  ") else row[0]
        found.setdefault(phase, {})[row[0].strip() if row[0].startswith("  ") else ""] = dict(
            zip(heads, row, strict=True)
        )
    return found


def figures_of(comparison, side):
    """Phase → quantity → what the comparison shows of it before (0) or after (1)."""
    tables = make_comparison(comparison).sections[0].phases
    return {table.title: {row[0]: row[2 + side] for row in table.rows} for table in tables}


def work_rates_of(summary):
    """Phase → the rate of its work with its unit, as the sheet's other table has it."""
    rows = more_table(summary.phases).rows
    place = [name for name, _ in more_table(summary.phases).headings()].index("work rate, mean")
    return {row[0]: row[place] for row in rows}


@pytest.mark.parametrize("pair", [(0, 1), (0, 2)])
@pytest.mark.parametrize("side", [0, 1])
def test_every_figure_of_the_sheet_is_that_of_the_comparison(pair, side, summaries, comparisons):
    told = figures_of(comparisons[pair], side)
    held = 0
    for phase, lines in lines_of(summaries[pair[side]]).items():
        main = lines.get("sustained", lines[""])
        for column, (name, until) in COLUMNS.items():
            assert told[phase][name] == main[column], (phase, name)
            if "at first" in lines:
                assert told[phase][until] == lines["at first"][column], (phase, until)
        for column, name in PLAIN.items():
            assert told[phase].get(name, "–") == main[column], (phase, name)
        resistance = lines[""].get("resist., fitted", "–").partition("±")[0] or "–"
        assert told[phase].get("resistance, settled", "–") == resistance
        held += "sustained" in lines
    for phase, rate in work_rates_of(summaries[pair[side]]).items():
        name = (
            "built-in work, whole phase" if "sustained" in lines_of(summaries[pair[side]])[phase] else "built-in work"
        )
        assert told[phase].get(name, "–") == rate.partition(" ")[0]
    assert held == (0 if pair[side] == 2 else 1)


def test_time_throttled_is_that_of_the_sheet_s_events(summaries, comparisons):
    from benchmon.views.words.events import event_sentence

    (table,) = (t for t in make_comparison(comparisons[0, 1]).sections[0].phases if t.title == "all cores")
    (row,) = (row for row in table.rows if row[0] == "throttled")
    for summary, cell in zip(summaries[:2], row[2:4], strict=True):
        assert f"({cell})" in event_sentence(summary.events[0])


def test_in_json_they_are_the_same_numbers(summaries, comparisons):
    contrast = json.loads(comparison_json.render(comparisons[0, 1]))["contrasts"][0]
    (phase,) = (one for one in contrast["phases"] if one["before"] == "all cores")
    assert phase["sustained_runs"] == phase["runs"] == [1, 1]
    for summary, side in zip(summaries[:2], ("before", "after"), strict=True):
        (mine,) = (one for one in json.loads(sheet_json.render(summary))["phases"] if one["name"] == "all cores")
        told = {key: one[side] for key, one in phase["quantities"].items()}
        level = mine["sustained"]
        names = {
            "clock_mhz": "clock_mhz",
            "package_power_w": "power_w",
            "wall_w": "wall_w",
            "processor_temp_c": "temp_last_c",
            "work_rate_per_s": "work_per_s",
        }
        assert {key: told[key] for key in names} == {key: level[name] for key, name in names.items()}
        assert told["rise_k"] == level["temp_last_c"] - mine["room_c"]
        assert told["until_clock_mhz"] == mine["before"]["clock_mhz"]
        assert told["until_package_power_w"] == mine["before"]["power_w"]
        assert told["whole_work_rate_per_s"] == mine["means"]["work_rate_per_s"]
        assert told["energy_j"] == mine["energy_j"]["value"]


def test_the_speed_of_a_throttled_run_is_what_it_sustains(comparisons):
    contrast = comparisons[0, 2].contrasts[0]
    (phase,) = (one for one in contrast.phases if one.before == "all cores")
    rate = {row.key: row for row in phase.rows}
    assert contrast.is_speed_sustained
    assert contrast.speed.before == pytest.approx(rate["work_rate_per_s"].before)
    assert contrast.speed.before < rate["whole_work_rate_per_s"].before
    assert contrast.speed.after == pytest.approx(rate["whole_work_rate_per_s"].after)  # it never was throttled


def test_which_part_the_figures_are_of_is_said(comparisons):
    notes = {t.title: t.note for t in make_comparison(comparisons[0, 2]).sections[0].phases}
    assert notes["all cores"].startswith("Throttled for long: before only.")
    assert notes["one core"] == ""
    (both,) = (t.note for t in make_comparison(comparisons[0, 1]).sections[0].phases if t.title == "all cores")
    assert both.startswith("Throttled for long: both.")


def test_only_of_settled_phases_a_resistance_is_compared(summaries, comparisons):
    """As on the sheet: of a phase that still moves, rise and power do not divide to it."""
    (one_core,) = (phase for phase in summaries[0].phases if phase.name == "one core")
    assert one_core.settling["processor_temp_c"].settled is False
    (pair,) = (one for one in comparisons[0, 2].contrasts[0].phases if one.before == "one core")
    assert "resistance_k_per_w" not in {row.key for row in pair.rows}


SETTLES = (("idle", 480.0, 0), ("all cores", 900.0, CHIP.cores))


@pytest.fixture(scope="module")
def settling():
    """Two machines of one kind, a little different, both of whose phases settle."""
    stories = [Story("duct", seed, SETTLES, 5.0) for seed in (1, 2)]
    return [
        Session(replace(story.header(f"s{story.seed}", STARTED), tags={"seed": str(story.seed)}), tuple(story.records))
        for story in stories
    ]


def test_of_phases_that_settled_sheet_and_comparison_say_the_same(settling):
    comparison = compare([bench_run(one, one.header.session_id) for one in settling])
    (contrast,) = comparison.contrasts
    for side, session in enumerate(settling):
        summary, told = summarise(session, look_every_s=NO_LOOKS_S), figures_of(comparison, side)
        for phase, lines in lines_of(summary).items():
            assert lines[""]["resist., fitted"].partition("±")[0] == told[phase]["resistance, settled"] != "–"
        when = ("before", "after")[side]
        (pair,) = (one for one in contrast.phases if one.before == "all cores")
        (row,) = (row for row in pair.rows if row.key == "resistance_k_per_w")
        (mine,) = (one for one in summary.phases if one.name == "all cores")
        assert getattr(row, when) == mine.resistance_k_per_w.value
        # The verdicts: rise and watts at the limit, but for what the draws of doubts move the sheet's median by.
        assert getattr(contrast.cooling, when) == pytest.approx(
            mine.resistance_k_per_w.value * contrast.at.power_w, rel=0.02
        )
        assert getattr(contrast.capacity, when) == pytest.approx(summary.thermal.capacity.predicted_w.value, rel=0.005)
    assert row.difference.value == pytest.approx(row.after - row.before)
    assert row.difference.low < 0.0 < row.difference.high
