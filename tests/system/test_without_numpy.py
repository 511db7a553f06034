"""numpy needs instructions that old processors do not have: then it is said, and nothing else is lost."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
RECORDING = ROOT / "recordings" / "box-as-bought.session.jsonl"
pytestmark = pytest.mark.system


@pytest.fixture
def without_numpy(tmp_path):
    (tmp_path / "numpy").mkdir()
    (tmp_path / "numpy" / "__init__.py").write_text('raise RuntimeError("NumPy was built for other processors")')

    def run(*words):
        program = "import sys; from benchmon.cli.main import main; sys.exit(main())"
        path = {"PYTHONPATH": f"{tmp_path}:{ROOT}", "HOME": str(tmp_path), "XDG_RUNTIME_DIR": str(tmp_path)}
        command = [sys.executable, "-c", program, *words]
        return subprocess.run(command, env=path, capture_output=True, text=True, cwd=tmp_path, timeout=60)

    return run


def test_the_sheet_says_why_there_is_no_verdict_and_keeps_the_rest(without_numpy):
    done = without_numpy("sheet", str(RECORDING))
    assert done.returncode == 0, done.stderr
    said = " ".join(done.stdout.split())
    assert "numpy, which the fits need, cannot be loaded here" in said
    assert "by heat at 82 °C from 4:59 to 12:00" in said


def test_recording_goes_on_without_it(without_numpy, tmp_path):
    session = tmp_path / "short.session.jsonl"
    done = without_numpy("record", "--for", "2s", "--quiet", "--to", str(session))
    assert done.returncode == 0, done.stderr
    assert session.exists()
