"""Every key through the real app: what it asks of the recorder, and what it changes on the screen."""

from __future__ import annotations

import pytest

from benchmon.errors import MachineError, NoSessionError
from benchmon.model.records import Mark, MarkKind, SessionEnd
from benchmon.views.tui.drawing import Surroundings
from benchmon.views.tui.help import help_lines
from benchmon.views.tui.leaving import Leaving
from benchmon.views.tui.view import Mode, Panel
from tests.support.bench_session import Bench, bench_records, bench_session
from tests.support.running_screen import RECORDS, live, replayed

# --- marking -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("key", "name"), [("i", "idle"), ("1", "one core"), ("a", "all cores"), ("c", "cool-down")])
async def test_a_phase_is_marked_with_one_key(key, name):
    async with live() as bench:
        await bench.press(key)
        assert bench.asked == [{"do": "mark", "kind": "phase", "text": name}]
        assert f"Phase: {name}, from now." in bench.text()


@pytest.mark.parametrize(
    ("key", "typed", "expected"),
    [
        ("p", "all cores lid off", {"kind": "phase", "text": "all cores lid off", "value": None}),
        ("p", "idle 10 s ago", {"kind": "phase", "text": "idle", "value": None, "ago_s": 10.0}),
        ("w", "41.5", {"kind": "wall", "text": "", "value": 41.5}),
        ("w", "41,5 2 min ago", {"kind": "wall", "text": "", "value": 41.5, "ago_s": 120.0}),
        ("r", "23.5", {"kind": "room", "text": "", "value": 23.5}),
        ("s", "1842 render", {"kind": "score", "text": "render", "value": 1842.0}),
        ("n", "fan was loud", {"kind": "note", "text": "fan was loud", "value": None}),
        ("t", "paste=old", {"kind": "tag", "text": "paste=old", "value": None}),
    ],
)
async def test_a_prompt_becomes_a_mark(key, typed, expected):
    async with live() as bench:
        await bench.press(key)
        await bench.write(typed)
        assert typed in bench.text()
        assert bench.asked == []
        await bench.press("enter")
        assert bench.asked == [{"do": "mark", "replaces": None, **expected}]
        assert bench.view.prompt is None


async def test_a_prompt_never_stops_the_drawing():
    async with live(RECORDS[:300]) as bench:
        await bench.press("w")
        await bench.write("41")
        before = bench.state.now_s
        bench.source.give(*RECORDS[300:600])
        bench.app._tick()
        assert bench.state.now_s > before
        assert "watts at the wall: 41" in bench.text()


async def test_a_prompt_is_mended_and_left():
    async with live() as bench:
        await bench.press("w")
        await bench.write("419")
        await bench.press("backspace")
        assert bench.view.prompt.text == "41"
        await bench.press("escape")
        assert bench.view.prompt is None
        assert bench.asked == []


@pytest.mark.parametrize(("key", "typed"), [("w", "warm"), ("t", "paste"), ("l", "half"), ("j", "soon"), ("n", "")])
async def test_nonsense_is_said_and_the_line_kept(key, typed):
    async with live() as bench:
        await bench.press(key)
        await bench.write(typed)
        await bench.press("enter")
        assert "Not understood" in bench.text()
        assert bench.view.prompt is not None
        assert bench.asked == []


async def test_letters_in_a_prompt_are_not_keys():
    async with live() as bench:
        await bench.press("n")
        await bench.write("iqx")
        assert bench.view.prompt.text == "iqx"
        assert bench.asked == []


async def test_the_latest_phase_is_moved_back():
    async with live() as bench:
        await bench.press("b")
        assert bench.asked == [{"do": "mark", "kind": "phase", "text": "all cores", "t_s": 170.0, "replaces": 4}]


async def test_a_refusal_is_said():
    async with live() as bench:
        bench.control.answer = {"ok": False, "why": "a wall mark needs a value between 0 and 10000"}
        await bench.press("w")
        await bench.write("5")
        await bench.press("enter")
        assert "Not done: a wall mark needs a value between 0 and 10000." in bench.text()
        assert bench.view.prompt is not None


async def test_a_recorder_that_is_gone_is_said():
    async with live() as bench:

        def gone(_):
            raise NoSessionError("nobody is recording session x", "It can still be replayed.")

        bench.app._desk._control = gone
        await bench.press("i")
        assert "Nobody is recording session x. It can still be replayed." in bench.text()


async def test_an_ended_recording_cannot_be_marked():
    async with live([*RECORDS, SessionEnd(330.0, "asked to")]) as bench:
        await bench.press("i", "w")
        assert bench.asked == []
        assert bench.view.prompt is None


# --- entries -------------------------------------------------------------------------------------------------------


async def test_an_entry_is_corrected():
    async with live() as bench:
        await bench.press("e")
        assert "Wall reading 58.7 W" in bench.text()
        await bench.press("enter", "backspace", "backspace", "backspace")
        await bench.write("3")
        await bench.press("enter")
        (request,) = bench.asked
        assert (
            request == {"do": "mark", "kind": "wall", "text": "", "value": 53.0, "replaces": 5, "t_s": 240.0}
            or request["value"] == 53.0
        )
        assert request["replaces"] == 5
        assert request["t_s"] == 240.0


async def test_an_entry_is_withdrawn():
    async with live() as bench:
        await bench.press("e", "down", "up", "down", "delete")
        assert bench.asked == [{"do": "mark", "kind": "withdraw", "replaces": 4}]


# --- load ----------------------------------------------------------------------------------------------------------


async def test_a_running_load_is_changed():
    async with live() as bench:
        await bench.press("l")
        await bench.write("2 memory")
        await bench.press("enter")
        assert bench.asked == [{"do": "load_stop"}, {"do": "load_start", "load": "2 memory"}]


async def test_a_load_is_started():
    async with live(RECORDS[:60]) as bench:
        await bench.press("l")
        await bench.write("One  scalar at 50%")
        await bench.press("enter")
        assert bench.asked == [{"do": "load_start", "load": "one scalar at 50%"}]


async def test_the_load_is_stopped_with_one_key():
    async with live() as bench:
        await bench.press("x")
        assert bench.asked == [{"do": "load_stop"}]


async def test_a_plans_pause_is_over_with_one_key():
    async with live() as bench:
        await bench.press("y")
        assert bench.asked == [{"do": "confirm"}]


# --- looking -------------------------------------------------------------------------------------------------------


async def test_the_cursor_reads_and_goes_away():
    async with live() as bench:
        await bench.press("left", "left")
        assert bench.view.cursor_s < 330.0
        assert "At 5:2" in bench.text()
        at_s = bench.view.cursor_s
        await bench.press("right")
        assert bench.view.cursor_s > at_s
        await bench.press("home")
        assert bench.view.cursor_s == 0.0
        await bench.press("full_stop")
        assert bench.view.cursor_s == 0.5
        await bench.press("full_stop", "comma")
        assert bench.view.cursor_s == 0.5
        await bench.press("escape")
        assert bench.view.cursor_s is None


async def test_zoom_pan_and_back_to_now():
    async with live() as bench:
        await bench.press("+", "+", "+", "+", "+")
        assert bench.view.step_s == 0.5
        await bench.press("pageup")
        assert bench.view.end_s is not None
        await bench.press("-")
        await bench.press("0")
        assert (bench.view.step_s, bench.view.end_s, bench.view.cursor_s) == (None, None, None)
        await bench.press("+", "pageup", "pagedown", "pagedown", "pagedown")
        assert bench.view.end_s is None
        await bench.press("end", "f")
        assert bench.view.whole


async def test_events_are_stepped_to_and_opened():
    records = bench_records(Bench(until_s=550.0))
    async with live(records) as bench:
        await bench.press("[")
        event = bench.state.events[1]
        assert bench.view.cursor_s == pytest.approx(event.start_s)
        assert "Event 1 of 1" in bench.text()
        await bench.press("o")
        assert bench.view.panel is Panel.EVENT
        assert "Confidence in the cause" in bench.text()
        await bench.press("escape")
        assert bench.view.panel is Panel.NONE
        await bench.press("]")
        assert "No throttle event there." in bench.text()


async def test_no_event_to_open_is_said():
    async with live(RECORDS[:100]) as bench:
        await bench.press("o")
        assert "The processor has not been throttled so far." in bench.text()


async def test_the_drawing_is_held_while_the_recording_goes_on():
    async with live(RECORDS[:300]) as bench:
        await bench.press("space")
        before = bench.text()
        assert "display frozen" in before
        bench.source.give(*RECORDS[300:])
        bench.app._tick()
        assert bench.state.now_s < 200
        await bench.press("space")
        assert bench.state.now_s == 330.0
        assert bench.text() != before


async def test_views_are_switched():
    async with live(size=(80, 24)) as bench:
        for mode in (Mode.TRACES, Mode.SHEET, Mode.BOTH):
            await bench.press("v")
            assert bench.view.mode is mode


async def test_help_opens_scrolls_and_closes():
    async with live(size=(80, 24)) as bench:
        await bench.press("question_mark")
        assert bench.view.panel is Panel.HELP
        top = bench.text()
        await bench.press("down")
        assert bench.text() != top
        await bench.press("question_mark", "question_mark", "question_mark")
        assert bench.view.panel is Panel.NONE


async def test_every_line_of_the_help_is_seen_by_turning_its_pages():
    for open_screen in (live, replayed):
        async with open_screen() as bench:
            bench.app._terminal = (80, 24)
            seen = ""
            for _ in range(5):
                await bench.press("question_mark")
                if bench.view.panel is Panel.NONE:
                    break
                seen += " ".join(bench.text().split()) + " "
            assert bench.view.panel is Panel.NONE
            around = Surroundings(open_screen is live, playing="" if open_screen is live else "replay")
            for line in help_lines(around.live, bool(around.playing)):
                assert " ".join(line.split()) in seen or all(word in seen for word in line.split())


async def test_the_earlier_run_is_shown_and_hidden():
    async with live(compare=bench_session(Bench(until_s=600.0, resistance_k_per_w=1.5))) as bench:
        assert "then 83 °C" in bench.text()
        await bench.press("d")
        assert "then 83 °C" not in bench.text()


async def test_without_an_earlier_run_the_key_says_how_to_give_one():
    async with live() as bench:
        await bench.press("d")
        assert "--behind SESSION" in bench.text()


async def test_an_unknown_key_says_where_help_is():
    async with live() as bench:
        await bench.press("z")
        assert "? shows what each key does" in bench.text()


async def test_pasted_text_goes_into_a_prompt_only():
    from textual import events

    async with live() as bench:
        bench.app.post_message(events.Paste("iax"))
        await bench.pilot.pause()
        assert bench.asked == []
        await bench.press("n")
        bench.app.post_message(events.Paste("warm\nx"))
        await bench.pilot.pause()
        assert bench.view.prompt.text == "warm"


# --- leaving -------------------------------------------------------------------------------------------------------


async def test_leaving_asks_whether_the_recording_goes_on():
    async with live() as bench:
        await bench.press("q")
        assert "Does the recording go on?" in bench.text()
        assert "it goes on (so does the load)" in bench.text()
        await bench.press("escape")
        assert bench.app._desk.outcome is None
        await bench.press("q", "q")
        assert bench.app._desk.outcome is None, "a second q in haste is no answer"
        await bench.press("g")
        assert bench.app.outcome.leaving is Leaving.GOES_ON
        assert bench.app.outcome.recording_goes_on
        assert bench.asked == []


def _gone(_):
    raise NoSessionError("nobody is recording session x")


@pytest.mark.parametrize("gone_after", ["", "q"])
async def test_a_recorder_that_is_gone_does_not_go_on(gone_after):
    async with live() as bench:
        if gone_after:
            await bench.press(gone_after)
        bench.app._desk._control = _gone
        await bench.press("g" if gone_after else "q")
        assert bench.app.outcome.leaving is Leaving.SESSION_OVER
        assert not bench.app.outcome.recording_goes_on


async def test_a_recorder_that_does_not_answer_may_go_on():
    async with live() as bench:

        def silent(_):
            raise MachineError("the recorder does not answer")

        bench.app._desk._control = silent
        await bench.press("q", "g")
        assert bench.app.outcome.recording_goes_on


async def test_a_small_terminal_asks_too():
    async with live(size=(20, 6)) as bench:
        await bench.press("q")
        asked = " ".join(bench.text().split())
        assert asked == "Does the recording go on with the load? g goes on, e ends it, esc stays."
        await bench.press("escape", "w")
        await bench.write("41")
        assert "41_" in bench.text()
        await bench.press("x", "enter")
        assert "Not understood" in bench.text()


@pytest.mark.parametrize("way", ["q", "ctrl+c", "ctrl+q"])
async def test_the_recording_is_ended_on_request(way):
    async with live() as bench:
        await bench.press(way, "e")
        assert bench.asked == [{"do": "end"}]
        assert bench.app.outcome.leaving is Leaving.ENDED
        assert not bench.app.outcome.recording_goes_on


async def test_an_ended_recording_is_left_without_a_question():
    async with live([*RECORDS, SessionEnd(330.0, "asked to")]) as bench:
        await bench.press("q")
        assert bench.app.outcome.leaving is Leaving.SESSION_OVER


@pytest.mark.parametrize("ended", [False, True])
async def test_a_signal_leaves_at_once_and_says_whether_the_recording_goes_on(ended):
    records = [*RECORDS, SessionEnd(330.0, "asked to")] if ended else RECORDS
    async with live(records) as bench:
        bench.app._end_by_signal(15)
        assert bench.app.outcome.leaving is Leaving.SIGNAL
        assert bench.app.outcome.recording_goes_on is not ended
        assert bench.asked == []


async def test_it_survives_every_size():
    async with live() as bench:
        for size in ((1, 1), (5, 3), (20, 6), (80, 24), (250, 70), (60, 16), (140, 45)):
            await bench.pilot.resize_terminal(*size)
            await bench.pilot.pause()
        assert "throttled by" in bench.text()


async def test_only_changed_rows_are_drawn_again():
    async with live() as bench:
        drawn = []
        bench.app._canvas.refresh = lambda *regions, **_: drawn.extend(regions)
        bench.app._draw()
        assert drawn == []
        bench.source.give(Mark(70, 330.5, 330.5, MarkKind.WALL, "", 50.0))
        bench.app._tick()
        assert 0 < len(drawn) < 10


# --- replay --------------------------------------------------------------------------------------------------------


async def test_a_replay_is_stopped_and_paced():
    async with replayed() as bench:
        await bench.press("space")
        assert bench.replay.paused
        assert "replay stopped" in bench.text()
        await bench.press("space", ">", ">")
        assert bench.replay.speed == 4.0
        await bench.press("<")
        assert bench.replay.speed == 2.0


async def test_a_replay_goes_to_a_time_and_to_the_cursor():
    async with replayed() as bench:
        await bench.press("j")
        await bench.write("3:20")
        await bench.press("enter")
        assert bench.replay.position_s == pytest.approx(200.0, abs=1.0)
        await bench.press("home", "right", "enter")
        assert bench.replay.position_s < 5.0
        assert bench.state.now_s < 5.0


async def test_a_replay_goes_to_the_next_event_before_it_was_played():
    async with replayed() as bench:
        assert not bench.state.events
        await bench.press("]")
        assert bench.replay.position_s == pytest.approx(210.0, abs=5.0)
        assert bench.state.events
        await bench.press("]")
        assert "No throttle event follows." in bench.text()


async def test_a_replay_cannot_be_marked_and_is_left_at_once():
    async with replayed() as bench:
        await bench.press("i")
        assert "This is a stored session" in bench.text()
        assert "slower, faster" in bench.text()
        await bench.press("q")
        assert bench.app.outcome.leaving is Leaving.REPLAY_LEFT
