"""What can hurt is said where it matters: before the first load, in the help, on the first page."""

import argparse
import io
import os
import pty
import threading
from pathlib import Path

import pytest

from benchmon.cli import cautions, join, main

ROOT = Path(__file__).resolve().parents[3]


def args(**given):
    return argparse.Namespace(**{"virtual": None, "load": None, "steps": None, "command_line": None, **given})


@pytest.fixture(autouse=True)
def sessions(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHMON_SESSIONS", str(tmp_path / "sessions"))
    return tmp_path / "sessions"


def said(capsys):
    return capsys.readouterr().err


@pytest.mark.parametrize(
    "load", [{"load": "all"}, {"steps": "all:1m"}, {"plan": "hold.toml"}, {"command_line": ("true",)}]
)
def test_it_is_said_before_the_first_load_and_never_again(load, capsys):
    cautions.caution_once(args(**load))
    text = said(capsys)
    assert all(word in text for word in ("hot", "fans bite", "mains", "battery", "Smell", "docs/safety.md"))
    cautions.caution_once(args(**load))
    assert said(capsys) == ""


def test_nothing_is_said_where_nothing_gets_hot(capsys):
    cautions.caution_once(args())
    cautions.caution_once(args(virtual=1, load="all"))
    cautions.caution_once(args(virtual=1), before_screen=True)
    assert said(capsys) == ""


def test_where_it_cannot_be_kept_it_is_said_again(sessions, capsys):
    sessions.write_text("no folder")
    for _ in range(2):
        cautions.caution_once(args(load="all"))
        assert "hot" in said(capsys)


def test_before_a_screen_there_is_time_to_read_it(capsys, monkeypatch):
    """A screen covers what was said, and can start a load by a key: so it is said without one too."""
    ours, theirs = pty.openpty()
    monkeypatch.setattr(cautions, "READING_S", 20.0)
    with os.fdopen(theirs) as terminal:
        monkeypatch.setattr("sys.stdin", terminal)
        monkeypatch.setattr("benchmon.cli.cautions.has_terminal", lambda: True)
        waiting = threading.Thread(target=cautions.caution_once, args=(args(),), kwargs={"before_screen": True})
        waiting.start()
        waiting.join(0.3)
        assert waiting.is_alive()
        os.write(ours, b"\n")
        waiting.join(5.0)
        assert not waiting.is_alive()
    os.close(ours)
    assert "or with Enter" in said(capsys)


@pytest.mark.parametrize("other", ["sys.stdin", "sys.stdout", "sys.stderr"])
def test_where_one_stream_is_no_terminal_nothing_waits(other, monkeypatch):
    ours, theirs = pty.openpty()
    monkeypatch.setattr("select.select", lambda *_: pytest.fail("it waits"))
    with os.fdopen(theirs, "r+b", buffering=0) as raw, io.TextIOWrapper(io.BytesIO()) as elsewhere:
        terminal = io.TextIOWrapper(raw, write_through=True)
        for stream in ("sys.stdin", "sys.stdout", "sys.stderr"):
            monkeypatch.setattr(stream, elsewhere if stream == other else terminal)
        cautions.caution_once(args(), before_screen=True)
    os.close(ours)


@pytest.mark.parametrize(("virtual", "is_said"), [("", True), ("a box that does not exist", False)])
def test_joining_says_it_where_the_machine_is_real(virtual, is_said, monkeypatch, capsys):
    """A recording may have been begun without a load: the key for one is on the screen."""
    monkeypatch.setattr(join, "check_screen", lambda _: None)
    monkeypatch.setattr(join, "header_of", lambda _: argparse.Namespace(virtual=virtual))
    monkeypatch.setattr(join, "show_live", lambda *_: 0)
    monkeypatch.setattr("benchmon.stream.running.running_sessions", lambda: [argparse.Namespace(path=Path("x"))])
    assert join.run(argparse.Namespace(session=None, behind=None)) == 0
    assert ("fans bite" in said(capsys)) is is_said


@pytest.mark.parametrize("command", ["channels", "plans", "join"])
def test_the_help_of_commands_that_lead_to_a_load_says_it_in_a_line(command, capsys):
    with pytest.raises(SystemExit):
        main.main([command, "--help"])
    text = " ".join(capsys.readouterr().out.split())
    assert all(word in text for word in ("metal gets hot", "stay with", "docs/safety.md"))


@pytest.mark.parametrize("command", ["record", "watch"])
def test_the_help_of_commands_that_load_says_it(command, capsys):
    with pytest.raises(SystemExit):
        main.main([command, "--help"])
    text = capsys.readouterr().out
    assert all(word in text for word in ("Hot metal", "mains", "Smell", "Root is never needed", "docs/safety.md"))


def test_the_first_page_says_it_and_leads_to_more():
    text = (ROOT / "README.md").read_text()
    assert all(word in text for word in ("Take care", "hot", "fans bite", "mains", "docs/safety.md"))
    more = (ROOT / "docs" / "safety.md").read_text()
    assert all(
        word in more for word in ("Local codes", "licensed", "Batteries", "Old supplies", "smoke", "pull the plug")
    )
