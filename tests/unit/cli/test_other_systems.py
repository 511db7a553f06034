"""Started on anything but Linux, benchmon says so in a sentence and ends; its help still helps."""

import platform
import sys

import pytest

from benchmon.cli import main as cli
from benchmon.errors import ExitCode


@pytest.mark.parametrize("name", ["Darwin", "Windows", ""])
@pytest.mark.parametrize("arguments", [["record", "--for", "1s"], ["demo"], ["verdict", "gone.session.jsonl"]])
def test_another_system_is_refused_in_a_sentence(monkeypatch, capsys, name, arguments):
    monkeypatch.setattr(sys, "platform", name.lower() or "unknown")
    monkeypatch.setattr(platform, "system", lambda: name)
    assert cli.main(arguments) == ExitCode.MACHINE
    said = capsys.readouterr().err
    assert "benchmon runs on Linux" in said
    assert (name or "another system") in said
    assert "Traceback" not in said


def test_help_and_version_are_given_anywhere(monkeypatch, capsys):
    monkeypatch.setattr(sys, "platform", "darwin")
    with pytest.raises(SystemExit) as ended:
        cli.main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.startswith("benchmon ")
