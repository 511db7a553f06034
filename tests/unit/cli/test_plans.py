"""``benchmon plans``: what ships in words, and each mistake of a file in a line."""

import pytest

from benchmon.cli.main import main


def test_the_plans_that_ship_are_explained(capsys):
    assert main(["plans"]) == 0
    said = capsys.readouterr().out
    for words in ("everyday:", "until settled or throttled for 3:00; 5:00 at least, 45:00 at most", "To be entered"):
        assert words in said
    assert max(map(len, said.splitlines())) <= 320


def test_one_plan_is_explained(capsys):
    assert main(["plans", "smoke"]) == 0
    assert capsys.readouterr().out.count("  1. ") == 1


def test_a_file_without_mistakes_is_told_so(tmp_path, capsys):
    path = tmp_path / "good.toml"
    path.write_text('[[phase]]\nload = "1 to all"\nlasts = "5s"\n[[phase]]\nload = "command x2"\nlasts = "5s"')
    assert main(["plans", "check", str(path)]) == 0
    assert capsys.readouterr().out == f"{path}: no mistakes\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[[phase]]\nload = "all"\nlasts = "-1s"', ", line 3: lasts: must be a time above zero"),
        ('[[phase]]\nload = "dancing"\nlasts = "1s"', "phase “dancing”: 'dancing' is no load"),
        ('[[phase]]\nload = "command"\ncommand = "a \'b"\nlasts = "1s"', "cannot be understood"),
        ("\x1b[31m = 3", "no TOML"),
    ],
)
def test_each_mistake_is_a_line(tmp_path, capsys, text, says):
    path = tmp_path / "bad.toml"
    path.write_text(text)
    assert main(["plans", "check", str(path)]) == 2
    said = capsys.readouterr().out
    assert says in said
    assert said.count("\n") == 1
    assert "\x1b" not in said


def test_check_needs_a_file(capsys):
    assert main(["plans", "check"]) == 2
    assert "no file was named" in capsys.readouterr().err


def test_a_plan_and_steps_exclude_each_other(capsys):
    assert main(["record", "--plan", "smoke", "--steps", "idle:1s"]) == 2
    assert "both a --plan and --steps" in capsys.readouterr().err


def test_a_command_needs_a_phase_of_the_plan(capsys):
    assert main(["record", "--plan", "smoke", "--", "true"]) == 2
    assert "no phase for the command" in capsys.readouterr().err
