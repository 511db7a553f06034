"""The sheet of a throttled run: one answer in table, events, verdict, CSV and JSON. Renew: GOLDEN=write pytest tests/golden."""

import csv
import io
import json
import os
import re
from dataclasses import replace
from pathlib import Path

import pytest

from benchmon.analysis.summary import summarise
from benchmon.session.reader import read_session
from benchmon.views.sheets import document_json, markdown, table_csv, text
from benchmon.views.words.events import event_sentence
from benchmon.views.words.verdict import verdict

HERE = Path(__file__).parent
RECORDING = HERE.parent.parent / "recordings/box-as-bought.session.jsonl"


@pytest.fixture(scope="module")
def summary():
    return summarise(read_session(RECORDING), look_every_s=float("inf"))


@pytest.fixture(scope="module")
def sheet(summary):
    return text.render(summary)


@pytest.fixture(scope="module")
def throttled(summary):
    return next(phase for phase in summary.phases if phase.sustained is not None)


def test_it_is_the_sheet_that_is_kept(sheet):
    if os.environ.get("GOLDEN") == "write":
        (HERE / "throttled.txt").write_text(sheet, encoding="utf-8", newline="")
    assert sheet == (HERE / "throttled.txt").read_text(encoding="utf-8")


def test_it_fits_80_columns(sheet):
    assert max(len(line) for line in sheet.splitlines()) <= 80


def times_said(sheet, words):
    return len(re.findall(rf"(?<![\d.]){re.escape(words)}(?![\d.]|:)", sheet))


def test_every_figure_of_the_throttled_phase_is_found_once(sheet, throttled):
    before, sustained = throttled.before, throttled.sustained
    figures = [f"{level.clock_mhz / 1000:.2f}" for level in (before, sustained)]
    figures += [f"{before.power_w:.1f}"]
    figures += [f"{sustained.clock_mhz / 3000:.0%}"[:-1]]  # of the rated 3.00 GHz
    figures += ["1:59", f"{sustained.temp_highest_c:.1f}"]  # until it throttled; hottest
    assert {words: times_said(sheet, words) for words in figures} == dict.fromkeys(figures, 1)
    # In the table, and where the verdict says why it sustains another figure.
    assert times_said(sheet, f"{sustained.power_w:.1f}") == 2


def test_figures_beside_one_another_agree_or_say_why(sheet, summary, throttled):
    """What a reader subtracts or divides: the last minutes against what is sustained, rise over power, fall of power."""
    ran_w, sustains = throttled.sustained.power_w, summary.thermal.capacity.measured_w
    assert sustains.low <= ran_w <= sustains.high
    flowing = " ".join(sheet.split())
    assert f"It ran at {ran_w:.1f} W in the last 2:00; the 37 W are what remains once all of the box" in flowing
    rise_k, power_w = map(float, re.search(r"would settle (\d+) K above the room at ([\d.]+) W", flowing).groups())
    resistance = float(re.search(r"Thermal resistance to the room: ([\d.]+)", flowing)[1])
    assert rise_k / power_w == pytest.approx(resistance, rel=0.02)
    assert "power fell from 45 to 39 W" in flowing


def test_nothing_simulated_is_called_measured(sheet, summary):
    assert summary.header.virtual
    rendered = {"text": sheet, "markdown": markdown.render(summary), "verdict": " ".join(verdict(summary))}
    for form, words in rendered.items():
        assert "simulated" in words, form
        assert not re.search(r"(?<!no machine was )measured", words), form
    assert "simulated" in sheet.splitlines()[0]
    assert json.loads(document_json.render(summary))["session"]["simulated"] is True
    assert all(row["simulated"] == "yes" for row in csv.DictReader(io.StringIO(table_csv.render(summary))))
    real = replace(summary, header=replace(summary.header, virtual=""))
    assert "(measured)" in " ".join(verdict(real))
    assert "imulated" not in text.render(real)


def test_the_verdict_tells_watts_and_resistance_once(sheet, summary):
    thermal = summary.thermal
    assert sheet.count(f"{thermal.capacity.measured_w.value:.0f} ± ") == sheet.count("37 ± ")  # measured and predicted
    assert times_said(sheet, "K/W") == 1
    assert sheet.count("work lost") == 1


def test_a_mean_over_the_way_down_is_nowhere(sheet, summary):
    """Power fell for seven minutes: its mean is a figure of no state the machine was in."""
    event = summary.events[0]
    assert event.power_held_w > event.power_sustained_w + 0.5
    for words in (f"{event.power_held_w:.1f}", f"{event.clock_held_mhz / 1000:.2f}"):
        assert times_said(sheet, words) == 0


def test_event_verdict_csv_and_json_tell_the_same(summary, throttled):
    sustained = throttled.sustained
    said = f"3.50 → {sustained.clock_mhz / 1000:.2f} GHz, {throttled.before.power_w:.1f} → {sustained.power_w:.1f} W"
    assert said in event_sentence(summary.events[0])
    assert f"It ran at {sustained.power_w:.1f} W in the last 2:00;" in " ".join(verdict(summary))
    row = next(row for row in csv.DictReader(io.StringIO(table_csv.render(summary))) if row["phase"] == throttled.name)
    assert float(row["sustained_power_w"]) == pytest.approx(sustained.power_w, rel=1e-5)
    assert float(row["sustained_clock_mhz"]) == pytest.approx(sustained.clock_mhz, rel=1e-5)
    assert float(row["before_power_w"]) == pytest.approx(throttled.before.power_w, rel=1e-5)
    document = json.loads(document_json.render(summary))
    phase = next(phase for phase in document["phases"] if phase["sustained"])
    assert phase["sustained"] == document["events"][0]["sustained"] == document["thermal"]["capacity_w"]["sustained"]
    assert phase["sustained"]["power_w"] == sustained.power_w
    assert phase["before"]["clock_mhz"] == document["events"][0]["clock_before_mhz"]
    assert f"{sustained.power_w:.1f}" in markdown.render(summary)
