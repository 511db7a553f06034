"""Short forms of the campaigns of ``tests/benchmarks/campaigns``; the long ones are commands (DEVELOPERS.md)."""

import os
import subprocess
import sys

import pytest

from tests.benchmarks.campaigns import damaged, entries, guard, kills, options, signs, surroundings, virtual_failures

pytestmark = pytest.mark.system


def test_processes_of_the_campaigns_keep_to_one_thread_each():
    """With a thread a core in each process, sixteen cores did no work any more."""
    code = "import tests.benchmarks.campaigns.damaged, os; print(os.environ['OPENBLAS_NUM_THREADS'])"
    bare = {name: value for name, value in os.environ.items() if "THREADS" not in name}
    assert subprocess.run([sys.executable, "-c", code], env=bare, capture_output=True, text=True).stdout == "1\n"


def test_nothing_is_left_after_random_kills():
    found = kills.campaign(5, seed=7)
    assert all(gone is not None for trials in found.values() for gone, _ in trials)


@pytest.mark.parametrize(
    ("fault", "recorder", "load"),
    [
        ("99 °C above the limit", "stopped", "command"),
        ("a pipe in its place", "runs", "built-in"),
        ("nan", "killed", "command"),
    ],
)
def test_the_guard_stops_the_load_whatever_happens_to_the_recorder(fault, recorder, load):
    took_s = guard.case(guard.FAULTS[fault], recorder, load)
    assert took_s is not None
    assert took_s <= (3.0 if recorder == "stopped" else 1.3)  # 1 s on a quiet machine


def test_no_seeded_failure_is_late():
    found = [virtual_failures.seeded_failure(seed) for seed in range(250)]
    assert [failure for failure in found if failure.is_wrong] == []
    assert len({failure.kind for failure in found}) >= 16


@pytest.mark.xdist_group("campaigns")
def test_damaged_sessions_end_in_a_sentence(tmp_path):
    lines = damaged.small_session(tmp_path)
    seen, failed = damaged.campaign(damaged.damaged_sessions(lines, 10, seed=11))
    assert (seen["commands"], seen["drawings"]) == (10 * len(damaged.HOW), 10)
    assert [
        (name, wrong) for name, wrong, _ in failed if not wrong.startswith("took")
    ] == []  # others use the machine too


def test_the_campaign_sees_what_fails(tmp_path, monkeypatch):
    """A campaign that could not fail would prove nothing."""
    lines = damaged.small_session(tmp_path)
    monkeypatch.setattr("benchmon.views.sheets.markdown.render", lambda summary: 1 / 0)
    _, failed = damaged.campaign([("\n".join(lines)).encode()])
    assert [name for name, _, _ in failed] == ["sheet --format markdown"]


def test_entries_made_at_once_are_all_kept():
    assert entries.campaign(4, 10) == (40, 40, 40)


@pytest.mark.xdist_group("campaigns")
def test_no_control_sign_comes_through(monkeypatch):
    short = {
        "sheet text",
        "compare csv",
        "sheet html",
        "export csv",
        "channels",
        "add note",
        "record tag",
        "an odd command",
    }
    cases = signs.cases
    monkeypatch.setattr(signs, "cases", lambda folder: [case for case in cases(folder) if case[0] in short])
    seen, bad = signs.campaign()
    assert seen == 2 * len(short)
    assert bad == []


@pytest.mark.xdist_group("campaigns")
def test_odd_surroundings_end_in_a_sentence(monkeypatch):
    kept = ("none of the three", "full output", "no home")
    monkeypatch.setattr(surroundings, "SHELL", {name: surroundings.SHELL[name] for name in kept})
    _, bad = surroundings.campaign()
    assert bad == []


@pytest.mark.xdist_group("campaigns")
def test_odd_values_of_options_end_in_a_sentence():
    seen, bad = options.campaign(("\x1b[2J",), nth=4)
    assert bad == []
    assert seen > 60


def test_the_campaigns_know_every_command():
    """Options they take from the program itself; what a command needs besides must be told."""
    offered = {one.command for one in options.declared()}
    assert offered == set(options.START)
    assert len(offered) > 15
    assert {words[0] for words in damaged.HOW} >= offered - NOT_GIVEN_A_SESSION


NOT_GIVEN_A_SESSION = {"demo", "channels", "watch", "record", "plans", "join", "replay", "sessions", "import"}
"""Commands that read no session, or show it on the screen that is drawn there besides."""
