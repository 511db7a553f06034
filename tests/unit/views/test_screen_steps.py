"""A key that begins a step, and entries when the recording is over: through the real app."""

from __future__ import annotations

import pytest

from benchmon.model.records import LoadAction, LoadChange, Mark, MarkKind, SessionEnd
from benchmon.stream.marking import MarkBook
from benchmon.views.tui.prompts import Ask
from tests.support.bench_session import Bench, bench_records
from tests.support.running_screen import RECORDS, live, replayed

AT_REST = bench_records(Bench(until_s=50.0))
"""Idle; all cores rest, and no load runs."""
ENDED = bench_records(Bench(until_s=600.0, ended=True))


def mark(phase: str, **more):
    return {"do": "mark", "kind": "phase", "text": phase, **more}


# --- phase and load ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("key", "phase", "load"), [("1", "one core", "one"), ("a", "all cores", "all")])
async def test_a_step_is_marked_and_its_load_is_offered_and_started(key, phase, load):
    async with live(AT_REST) as bench:
        bench.control.answer = {"ok": True, "number": 7}
        await bench.press(key)
        assert bench.asked == [mark(phase)]
        assert "Start its load?" in bench.text()
        await bench.press("enter")
        # The phase begins where its load does, not where the key was pressed.
        assert bench.asked[1:] == [{"do": "load_start", "load": load}, mark(phase, replaces=7)]
        assert bench.view.prompt is None and bench.view.offer is None
        assert f"{phase.capitalize()}: its load runs." in bench.text()


async def test_what_is_offered_can_be_left_and_keeps_nobody_from_going_on():
    async with live(AT_REST) as bench:
        await bench.press("1", "escape")
        assert bench.view.prompt is None
        await bench.press("1", "w")
        assert bench.view.prompt.ask is Ask.WALL
        assert bench.view.offer is None
        assert bench.asked == [mark("one core")] * 2


async def test_a_load_that_is_refused_leaves_the_phase_where_it_was():
    async with live(AT_REST) as bench:
        bench.control.answer = {"ok": True, "number": 7}
        await bench.press("a")
        bench.control.answer = {"ok": False, "why": "no temperature can be read, and nothing would stop the load"}
        await bench.press("enter")
        assert bench.asked[1:] == [{"do": "load_start", "load": "all"}]
        assert "Not done: no temperature can be read" in bench.text()


async def test_another_step_changes_the_load_that_runs():
    async with live() as bench:
        await bench.press("1")
        assert f"Change the load ({bench.state.load.what})?" in bench.text()
        await bench.press("enter")
        assert bench.asked == [mark("one core"), {"do": "load_stop"}, {"do": "load_start", "load": "one"}]


async def test_the_kind_of_work_stays():
    change = LoadChange(330.0, LoadAction.STARTED, "scalar arithmetic on one core", 1, work="scalar")
    async with live([*RECORDS, change]) as bench:
        await bench.press("a", "enter")
        assert bench.asked[-1] == {"do": "load_start", "load": "all scalar"}


@pytest.mark.parametrize(("key", "phase"), [("c", "cool-down"), ("i", "idle")])
async def test_resting_offers_to_stop_the_load(key, phase):
    async with live() as bench:
        await bench.press(key)
        assert "Stop it?" in bench.text()
        await bench.press("enter")
        assert bench.asked == [mark(phase), {"do": "load_stop"}]


async def test_nothing_is_offered_where_all_is_as_it_should_be():
    async with live() as bench:
        await bench.press("a")
        assert bench.view.offer is None
    async with live(AT_REST) as bench:
        await bench.press("c")
        assert bench.view.offer is None


async def test_nothing_is_offered_beside_the_users_own_run():
    command = LoadChange(50.0, LoadAction.STARTED, "./mybench", None)
    async with live([*AT_REST, command]) as bench:
        await bench.press("a", "c")
        assert bench.view.offer is None
    # Started elsewhere: the processor is busy, and no load of ours runs.
    busy = [record for record in bench_records(Bench(until_s=200.0)) if not isinstance(record, LoadChange)]
    async with live(busy) as bench:
        await bench.press("a")
        assert bench.asked == [mark("all cores")]
        assert bench.view.offer is None
        assert "The processor is busy already" in bench.text()


async def test_the_phase_that_goes_with_a_stopped_load_is_offered():
    async with live() as bench:
        await bench.press("x")
        assert "The phase is still “all cores”. Begin “cool-down”?" in bench.text()
        await bench.press("enter")
        assert bench.asked == [{"do": "load_stop"}, mark("cool-down")]


async def test_the_phase_that_goes_with_another_load_is_offered():
    async with live() as bench:
        await bench.press("l")
        await bench.write("one scalar")
        await bench.press("enter")
        assert "The phase is still “all cores”. Begin “one core”?" in bench.text()
        await bench.press("enter")
        assert bench.asked[-1] == mark("one core")


async def test_where_phases_follow_the_load_none_is_offered():
    async with live(bench_records(Bench(until_s=330.0, entries=False))) as bench:
        await bench.press("x")
        assert bench.view.offer is None


# --- when it is over -----------------------------------------------------------------------------------------------


def later_of(asked: list):
    def enter(request):
        asked.append(request)
        made = MarkBook(20).from_request(600.0, request)
        return {"ok": True, "number": made.number, "mark": made}

    return enter


async def test_after_the_end_readings_are_entered_at_the_end_of_the_loaded_phase():
    asked: list = []
    async with live(ENDED, later=later_of(asked)) as bench:
        for name in ("w›wall", "r›room", "s›score", "n›note", "t›tag"):
            assert name in bench.text()
        await bench.press("w")
        assert "watts at the wall at 7:59, the end of all cores" in bench.text()
        await bench.write("61.5")
        await bench.press("enter")
        assert asked[0]["t_s"] == 479.0
        assert asked[0]["value"] == 61.5
        assert "Entered: wall 61.5 at 7:59, the end of all cores." in bench.text()
        assert "wall 61.5 W at 7:59" in bench.text()  # the heading follows
        assert bench.asked == []


async def test_after_the_end_an_entry_speaks_of_the_moment_under_the_cursor():
    asked: list = []
    async with live(ENDED, later=later_of(asked)) as bench:
        await bench.press("home", "s")
        assert "score at 0:00, the cursor" in bench.text()
        await bench.write("1842 render")
        await bench.press("enter")
        assert (asked[0]["t_s"], asked[0]["value"], asked[0]["text"]) == (0.0, 1842.0, "render")


@pytest.mark.parametrize(
    ("key", "typed", "kind"), [("n", "loud", "note"), ("t", "lid=off", "tag"), ("r", "23.5", "room")]
)
async def test_after_the_end_notes_tags_and_rooms_are_of_the_whole(key, typed, kind):
    asked: list = []
    async with live(ENDED, later=later_of(asked)) as bench:
        await bench.press(key)
        await bench.write(typed)
        await bench.press("enter")
        assert asked[0]["kind"] == kind
        assert "t_s" not in asked[0]
        assert bench.state.marks.latest(MarkKind(kind)) is not None


async def test_after_the_end_entries_are_corrected_and_withdrawn():
    asked: list = []
    async with live(ENDED, later=later_of(asked)) as bench:
        await bench.press("e", "delete")
        assert asked == [{"do": "mark", "kind": "withdraw", "replaces": 6}]
        assert all(one.number != 6 for one in bench.state.marks.all())


async def test_what_makes_no_sense_afterwards_is_said():
    async with live(ENDED, later=later_of([])) as bench:
        await bench.press("1")
        assert "phases and load stay as they were" in bench.text()
        await bench.press("r")
        await bench.write("999")
        bench.app._desk._enter_later = lambda _: {"ok": False, "why": "a room mark needs a value between -60 and 80"}
        await bench.press("enter")
        assert "Not done: a room mark needs a value between -60 and 80." in bench.text()
        assert bench.view.prompt is not None


async def test_a_replay_takes_an_entry_and_shows_it_at_its_end():
    asked: list = []
    async with replayed(600.0, later=later_of(asked)) as bench:
        await bench.press("n")
        await bench.write("loud")
        await bench.press("enter")
        bench.app._tick()
        assert asked[0]["text"] == "loud"
        assert isinstance(list(bench.replay.records)[-1], Mark)
        assert bench.state.marks.latest(MarkKind.NOTE).text == "loud"


async def test_without_a_file_to_enter_into_the_command_is_named():
    async with live([*RECORDS, SessionEnd(330.0, "stopped")]) as bench:
        await bench.press("w")
        assert "“benchmon add” enters what became known later" in bench.text()
