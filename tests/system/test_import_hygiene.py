"""What is really loaded, asked of ``sys.modules`` in a fresh interpreter: import contracts see only what is written.

The recorder runs on the machine under test, so whatever it loads takes memory and time away from what is measured.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEAVY = {"numpy", "scipy", "textual", "rich", "psutil", "cpuinfo"}


def loaded_after(code: str) -> set[str]:
    """Top-level names of all modules that are loaded once ``code`` has run."""
    tail = "\nimport json, sys\nsys.__stdout__.write('\\n' + json.dumps(sorted({n.partition('.')[0] for n in sys.modules})))"
    done = subprocess.run([sys.executable, "-c", code + tail], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_the_question_itself_can_be_answered_with_yes():
    assert "numpy" in loaded_after("import numpy")


@pytest.mark.parametrize("module", ["benchmon", "benchmon.cli.main", "benchmon.cli.record", "benchmon.stream.recorder"])
def test_the_recorders_path_is_standard_library_only(module):
    assert loaded_after(f"import {module}") & HEAVY == set()


def test_help_loads_nothing_heavy():
    code = """
import sys
from benchmon.cli.main import main
try:
    main(["--help"])
except SystemExit:
    pass
"""
    assert loaded_after(code) & HEAVY == set()


def test_help_needs_nothing_of_what_sessions_hold_or_what_is_concluded():
    """The classes of both take longer to make than all the rest of the help."""
    code = "import benchmon.cli.main, sys; assert not {'benchmon.model.records', 'benchmon.model.findings'} & set(sys.modules)"
    assert "benchmon" in loaded_after(code)


COSTLY = {"benchmon.model.records", "benchmon.model.findings", "benchmon.analysis.live", "socket", "numpy"}


def test_a_list_of_sessions_that_are_known_needs_none_of_their_classes(tmp_path):
    """Nor does another sheet of a session need what draws conclusions; both are to answer at once."""
    recordings = ROOT / "recordings"
    environment = {**os.environ, "XDG_CACHE_HOME": str(tmp_path)}
    for words, needed in (
        (["sessions", str(recordings), "--work-out", "--json"], set()),
        (["sheet", str(recordings / "minimal.session.jsonl")], {"benchmon.model.records"}),
    ):
        code = (
            f"import sys; from benchmon.cli.main import main; main({words}); sys.exit(str(set(sys.modules) & {COSTLY}))"
        )
        for _ in range(2):
            done = subprocess.run(
                [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True
            )
        assert done.stderr.strip() == str(needed)


def test_a_whole_recording_loads_nothing_heavy(tmp_path):
    """Half a second of it under load, in this very process: what is imported late counts too."""
    code = f"""
from benchmon.cli.main import main
try:
    main(["record", "--load", "one", "--for", "0.5s", "--every", "0.1s", "--to", {str(tmp_path / "short.session.jsonl")!r}])
except SystemExit:
    pass
"""
    assert loaded_after(code) & HEAVY == set()
    assert (tmp_path / "short.session.jsonl").stat().st_size > 0


FEED = """
from benchmon.analysis.live import LiveAnalysis
from tests.support.bench_sessions import bench
live = LiveAnalysis()
made = bench([("idle", 60, 3.0, 0), ("all cores", {load_s}, 15.0, 4)], limit_c=95.0)
live.feed(made.header)
for record in made.records[:-1]:
    live.feed(record)
live.phases() if {load_s} > 75 else None
"""


def test_the_screen_starts_without_numpy():
    loaded = loaded_after("import benchmon.views.tui.app, benchmon.analysis.live")
    assert "textual" in loaded
    assert loaded & {"numpy", "scipy"} == set()


def test_the_screen_starts_without_what_compares_and_without_the_options_of_a_recording():
    unused = {"benchmon.analysis.compare", "benchmon.model.comparison", "benchmon.stream.options"}
    code = f"import sys, benchmon.views.tui.app, benchmon.analysis.live; assert not {unused} & set(sys.modules)"
    assert "textual" in loaded_after(code)


def test_numpy_is_loaded_when_a_fit_is_first_needed_and_not_before():
    assert "numpy" not in loaded_after(FEED.format(load_s=20))
    assert "numpy" in loaded_after(FEED.format(load_s=150))


def test_a_screen_never_loads_numpy_itself():
    """Forecast, rows and conclusion are worked out apart; what comes back holds none of the library's numbers."""
    code = (
        FEED.format(load_s=150).replace("LiveAnalysis", "WatchedAnalysis").replace("analysis.live", "analysis.watched")
    )
    code += """
import time
live.feed(made.records[-1])
while live.conclusion() is None:
    live.work_on()
    time.sleep(0.01)
assert live.conclusion().thermal.grounds.rise_k and live.phases()[1].resistance_k_per_w.value
"""
    assert "numpy" not in loaded_after(code)


def test_the_screen_does_without_encryption_which_stays_there_for_others():
    code = "import benchmon.views.tui.app, sys; assert 'ssl' not in sys.modules; import asyncio.sslproto, ssl"
    assert "ssl" in loaded_after(code)


def test_the_fit_keeps_to_one_thread():
    """Threads of the linear algebra would heat the processor that is measured."""
    code = FEED.format(load_s=150) + "import os; assert os.environ['OPENBLAS_NUM_THREADS'] == '1'"
    assert "numpy" in loaded_after(code)


def test_sheets_need_no_screen_and_no_numpy():
    loaded = loaded_after("import benchmon.views.sheets.text, benchmon.analysis.summary")
    assert loaded & {"numpy", "scipy", "textual", "rich"} == set()
