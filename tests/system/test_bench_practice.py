"""The main job, end to end on the command line: two runs of bench practice as tables, imported and reported.

Common practice, no source: a two-core 35 W-rated part at its full 2.9 GHz that settles at 60 °C / 10 W on one core and
71 °C / 15 W on all cores in a 24 °C room does not throttle; a four-core 45 W-rated part that starts all cores at
2.4 GHz and 35 W and falls to 22 W and 1.4 GHz on reaching 73 °C does, at a plateau of 73 °C.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from benchmon.model import keys
from tests.support import practice_traces

pytestmark = pytest.mark.system
COLUMNS = {"clock_mhz": keys.CLOCK, "power_w": keys.PACKAGE_POWER, "temp_c": keys.PROCESSOR_TEMP, "load_pct": keys.LOAD}


def benchmon(*words: object) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "benchmon", *map(str, words)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def reported(name, trace, folder: Path) -> dict:
    table = folder / "trace.csv"
    rows = [",".join(["t_s", *COLUMNS])]
    rows += [",".join([f"{t:.1f}", *(f"{values[key]:.3f}" for key in COLUMNS.values())]) for t, values in trace]
    table.write_text("\n".join(rows) + "\n")
    session = folder / "trace.session.jsonl"
    benchmon("import", table, "-o", session, "--ambient", practice_traces.ROOM_C, "--tag", f"box={name}")
    return json.loads(benchmon("sheet", session, "--format", "json"))


def test_a_part_that_keeps_its_clock_does_not_throttle(tmp_path):
    assert reported(practice_traces.COOL_ENOUGH, practice_traces.cool_enough(), tmp_path)["events"] == []


def test_a_part_that_falls_on_reaching_73_degrees_throttles_by_heat(tmp_path):
    (event,) = reported(practice_traces.TOO_HOT, practice_traces.too_hot(), tmp_path)["events"]
    assert event["cause"] == "thermal"
    assert event["temp_plateau_c"] == pytest.approx(73.0, abs=1.0)
    assert event["clock_before_mhz"] == pytest.approx(2400, rel=0.02)
    assert event["sustained"]["clock_mhz"] == pytest.approx(1400, rel=0.05)
    assert event["power_before_w"] == pytest.approx(35, rel=0.05)
    assert event["sustained"]["power_w"] == pytest.approx(22, rel=0.05)
