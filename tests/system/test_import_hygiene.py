"""What is really loaded, asked of ``sys.modules`` in a fresh interpreter: import contracts see only what is written.

The recorder runs on the machine under test, so whatever it loads takes memory and time away from what is measured.
"""

import json
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


def test_a_whole_recording_loads_nothing_heavy(tmp_path):
    """Half a second of it, in this very process: what is imported late counts too."""
    code = f"""
from benchmon.cli.main import main
try:
    main(["record", "--for", "0.5s", "--every", "0.1s", "--to", {str(tmp_path / "short.session.jsonl")!r}])
except SystemExit:
    pass
"""
    assert loaded_after(code) & HEAVY == set()
    assert (tmp_path / "short.session.jsonl").stat().st_size > 0


def test_the_screen_needs_no_numpy():
    loaded = loaded_after("import benchmon.views.tui.app")
    assert "textual" in loaded
    assert loaded & {"numpy", "scipy"} == set()


def test_reports_need_no_screen_and_no_numpy():
    loaded = loaded_after("import benchmon.views.sheets.text, benchmon.analysis.summary")
    assert loaded & {"numpy", "scipy", "textual", "rich"} == set()
