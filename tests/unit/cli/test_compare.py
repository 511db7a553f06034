"""``benchmon compare``: what is refused, and how it is said."""

import json
from pathlib import Path

import pytest

from benchmon.cli.main import main

RECORDINGS = Path(__file__).resolve().parents[3] / "recordings"


def path(name: str) -> str:
    return str(RECORDINGS / f"{name}.session.jsonl")


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        ([path("minimal")], 2, "needs two sessions"),
        ([path("minimal")] * 101, 2, "takes 100 at most"),
        ([path("minimal")] * 3, 2, "carry the same tags"),
        ([path("minimal"), "never-recorded"], 9, "never-recorded"),
    ],
)
def test_what_cannot_be_compared_is_a_sentence(arguments, code, words, capsys):
    assert main(["compare", *arguments]) == code
    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said


def test_two_recordings_that_share_nothing_still_get_an_answer(capsys):
    assert main(["compare", path("minimal"), path("v1"), "--json"]) == 0
    (contrast,) = json.loads(capsys.readouterr().out)["contrasts"]
    assert contrast["cooling"]["answer"] == "cannot say"
    assert contrast["cooling"]["wants"] == ["longer"]
    assert contrast["not_alike"]


def test_nothing_is_overwritten(tmp_path, capsys):
    kept = tmp_path / "kept.md"
    kept.write_text("mine")
    assert main(["compare", path("minimal"), path("v1"), "--output", str(kept)]) != 0
    assert kept.read_text() == "mine"


def test_a_recording_is_held_against_an_earlier_run_while_it_lasts(tmp_path, capsys):
    """The demo's box with its duct, recorded on the virtual bench over the box as it was bought."""
    words = ["record", "--virtual", "1", "--chapter", "duct", "--speed", "100000", "--lines-every", "30s"]
    assert main([*words, "--behind", path("box-as-bought"), "--to", str(tmp_path / "now.session.jsonl")]) == 0
    said = [line for line in capsys.readouterr().out.splitlines() if "25 November" in line]
    assert any("K cooler than on 25 November" in line for line in said)
    assert any("W more than on 25 November" in line for line in said)
    assert main([*words, "--behind", "never-recorded"]) == 9
