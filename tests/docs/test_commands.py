"""Each command is documented and explains each of its options; nothing is documented that does not exist."""

import argparse
import re
from pathlib import Path

import pytest

from benchmon.analysis.thermal.criteria import temperature_criterion
from benchmon.cli.main import _COMMANDS, _parser
from benchmon.stream.plan import parse_plan

ROOT = Path(__file__).resolve().parents[2]


def commands() -> dict[str, argparse.ArgumentParser]:
    """Each command's own parser; only the one that is asked for is filled."""
    parsers = {}
    for name in _COMMANDS:
        actions = _parser([name])._actions
        (chooser,) = (action for action in actions if isinstance(action, argparse._SubParsersAction))
        parsers[name] = chooser.choices[name]
    return parsers


def documentation() -> str:
    """Everything a user may read: the front page and docs/ without the decisions."""
    pages = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
    return "\n".join(page.read_text() for page in pages)


@pytest.mark.parametrize("name", sorted(_COMMANDS))
def test_command_is_documented(name):
    assert re.search(rf"^\| `{re.escape(name)}` \|", (ROOT / "README.md").read_text(), re.MULTILINE)


@pytest.mark.parametrize("name", sorted(_COMMANDS))
def test_command_explains_itself(name):
    parser = commands()[name]
    assert parser.description
    for action in parser._actions:
        if not isinstance(action, argparse._HelpAction):
            assert action.help, f"{name} {action.dest}"


def test_documented_commands_exist():
    """In code, ``benchmon WORD`` is always a command."""
    text = documentation()
    quoted = [*re.findall(r"`([^`\n]+)`", text), *re.findall(r"^(?: {4}|\$ )(.+)$", text, re.MULTILINE)]
    for block in re.findall(r"^```\w*\n(.*?)^```", text, re.MULTILINE | re.DOTALL):
        quoted += block.splitlines()
    quoted = [line for line in quoted if line != "benchmon session"]  # the name of the file's format
    named = {found[1] for line in quoted if (found := re.search(r"(?:^|[\s/])benchmon ([a-z]+)\b", line))}
    assert named <= set(_COMMANDS)


def test_the_example_on_the_front_page_is_long_enough_to_settle():
    """Twice the window of the default criterion: one to settle in, one to see it."""
    text = re.search(r"--steps (\S+:\S+)", (ROOT / "README.md").read_text())[1]
    window_s = temperature_criterion("iec62368", 60.0, 100.0).window_s
    assert all(step.duration_s >= 2 * window_s for step in parse_plan(text))
