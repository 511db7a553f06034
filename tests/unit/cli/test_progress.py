"""A bar for whatever takes longer than a second: on a terminal, and nowhere else."""

import sys

from benchmon.cli.progress import Progress


def test_silent_at_first_then_a_bar_that_goes_away(monkeypatch, capsys):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    now = [0.0]
    progress = Progress("Reading", lambda: now[0])
    progress(0.3)
    assert capsys.readouterr().err == ""
    now[0] = 1.5
    progress(0.5)
    assert "Reading  [===============               ]  50 %" in capsys.readouterr().err
    progress(0.51)
    assert capsys.readouterr().err == ""  # not more often than can be seen
    progress.done()
    assert capsys.readouterr().err.endswith("\r")


def test_nothing_in_a_pipe(capsys):
    now = [0.0]
    progress = Progress("Reading", lambda: now[0])
    now[0] = 9.0
    progress(0.5)
    progress.done()
    assert capsys.readouterr().err == ""


def test_several_things_share_one_bar(monkeypatch, capsys):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    now = [0.0]
    progress = Progress("Reading", lambda: now[0])
    now[0] = 1.5
    progress.part(1, 2)(0.5)
    assert " 75 %" in capsys.readouterr().err
