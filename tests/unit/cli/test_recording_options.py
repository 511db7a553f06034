"""``watch`` hands its options to the recorder's process: what goes in one side comes out of the other."""

import argparse

import pytest

from benchmon.cli import record, watch
from benchmon.cli.main import _split_command
from benchmon.cli.recording_options import recorder_arguments


def parsed(module, words):
    words, command = _split_command(words)
    parser = argparse.ArgumentParser(allow_abbrev=False)
    module.add_arguments(parser)
    args = parser.parse_args(words)
    args.command_line = command
    return args


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["--load", "all", "--work", "whole", "--for", "10m", "--every", "0.1s"],
        [
            "--steps",
            "idle:60s,one:2m,all:5m",
            "--room",
            "-3.5",
            "--stop-at",
            "95",
            "--tag",
            "paste=fresh today",
            "--tag",
            "lid=off",
        ],
        ["--reading", "wall_w=my-meter --port 3@2s", "--to", "/tmp/a b", "--root", "/x"],
        ["--room", "24", "--", "my command", "--load", "7"],
        [
            *("--score-from", r"Multi.*: (\d+) pts", "--score-from=(-?x)", "--phase-from", "-- (.*) --"),
            *("--version-from", "^v", "--command-cores", "0-2,5", "--", "bench"),
        ],
    ],
)
def test_round_trip(words):
    first = parsed(watch, words)
    again = parsed(record, recorder_arguments(first))
    for name in (
        "load",
        "work",
        "steps",
        "stop_at",
        "for_s",
        "every",
        "room",
        "tag",
        "reading",
        "to",
        "root",
        "speed",
        "virtual",
        "command_line",
        "score_from",
        "phase_from",
        "version_from",
        "command_cores",
    ):
        assert getattr(again, name) == getattr(first, name), name


def test_everything_after_two_dashes_is_the_command():
    assert _split_command(["record", "--", "a", "--", "b"]) == (["record"], ("a", "--", "b"))
    assert _split_command(["record"]) == (["record"], None)


@pytest.mark.parametrize(
    "words",
    [
        ["--score-from", "no group"],
        ["--score-from", "(unclosed"],
        ["--score-from", "("],
        ["--phase-from", ""],
        ["--phase-from", "a" * 501],
        ["--version-from", "a{9999999999999}"],
        ["--command-cores", "all"],
        ["--command-cores", "3-1"],
        ["--command-cores", "0-99999999999"],
        ["--command-cores", "-1"],
    ],
)
def test_patterns_and_cores_that_make_no_sense_are_refused(words, capsys):
    with pytest.raises(SystemExit):
        parsed(record, [*words, "--", "bench"])
    assert "argument" in capsys.readouterr().err
