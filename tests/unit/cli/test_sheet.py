"""The sheet as JSON: forecasts, which cost many times the rest, are made for those who ask for them."""

import json
from pathlib import Path

import pytest

from benchmon.cli.main import main
from benchmon.errors import ExitCode

RECORDING = str(Path(__file__).parents[3] / "recordings" / "v1.session.jsonl")


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))


def test_json_makes_no_forecast_that_nobody_asked_for(capsys, monkeypatch):
    monkeypatch.setattr("benchmon.analysis.live.LiveAnalysis.look", lambda _: pytest.fail("looked"))
    assert main(["sheet", RECORDING, "--json"]) == ExitCode.OK
    assert json.loads(capsys.readouterr().out)["forecast"] == []


def test_forecasts_are_made_where_they_are_asked_for(capsys, monkeypatch):
    looked = []
    monkeypatch.setattr("benchmon.analysis.live.LiveAnalysis.look", lambda _: looked.append(1))
    assert main(["sheet", RECORDING, "--json", "--forecasts"]) == ExitCode.OK
    assert looked and json.loads(capsys.readouterr().out)["forecast"] == []  # nothing was kept by this look


def test_forecasts_in_another_format_are_refused(capsys):
    assert main(["sheet", RECORDING, "--forecasts"]) == ExitCode.USAGE
    assert "only the sheet as JSON" in capsys.readouterr().err


def test_a_huge_file_that_is_no_session_is_not_gone_through(tmp_path, capsys):
    path = tmp_path / "huge.session.jsonl"
    with path.open("wb") as file:
        file.truncate(1 << 40)
    assert main(["sheet", str(path)]) == ExitCode.INPUT
    assert "not a benchmon session" in capsys.readouterr().err
