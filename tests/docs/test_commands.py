"""Each command and each of its options is documented; nothing is documented that does not exist."""

import argparse
import re
from pathlib import Path

import pytest

from benchmon.cli.main import _parser

ROOT = Path(__file__).resolve().parents[2]


def commands() -> dict[str, argparse.ArgumentParser]:
    parser = _parser()
    (chooser,) = (action for action in parser._actions if isinstance(action, argparse._SubParsersAction))
    return dict(chooser.choices)


def documentation() -> str:
    """Everything a user may read: the front page and docs/ without the decisions."""
    pages = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
    return "\n".join(page.read_text() for page in pages)


@pytest.mark.parametrize("name", sorted(commands()))
def test_command_is_documented(name):
    assert re.search(rf"\bbenchmon {re.escape(name)}\b", documentation())
    assert re.search(rf"^\| `{re.escape(name)}` \|", (ROOT / "README.md").read_text(), re.MULTILINE)


@pytest.mark.parametrize("name", sorted(commands()))
def test_command_explains_itself(name):
    parser = commands()[name]
    assert parser.description
    for action in parser._actions:
        if not isinstance(action, argparse._HelpAction | argparse._SubParsersAction):
            assert action.help, f"{name} {action.dest}"


def test_documented_commands_exist():
    """In code, ``benchmon WORD`` is always a command."""
    text = documentation()
    quoted = [*re.findall(r"`([^`\n]+)`", text), *re.findall(r"^(?: {4}|\$ )(.+)$", text, re.MULTILINE)]
    for block in re.findall(r"^```\w*\n(.*?)^```", text, re.MULTILINE | re.DOTALL):
        quoted += block.splitlines()
    named = {found[1] for line in quoted if (found := re.search(r"\bbenchmon ([a-z]+)\b(?![./:])", line))}
    assert named <= set(commands())
