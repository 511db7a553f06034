"""The page as text: what is said, where it stands, and that it fits every terminal."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.findings import Figure, Sustains
from benchmon.model.records import ChannelState, Mark, MarkKind, Sample, SessionEnd, SessionHeader
from benchmon.model.units import Unit
from benchmon.views.traces import BLOCKS, LINE, PLAIN
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.drawing import Surroundings
from benchmon.views.tui.look import Look, cut, look_for, row_text, width_of
from benchmon.views.tui.page import draw_page
from benchmon.views.tui.panels import panel_lines
from benchmon.views.tui.prompts import Ask, Prompt
from benchmon.views.tui.quantities import POWER, scale_of
from benchmon.views.tui.sentences import coming
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import Mode, Panel, View
from benchmon.views.words.verdict import verdict
from tests.support.bench_session import Bench, ScriptedAnalyst, bench_records, bench_session, header_of
from tests.support.screen_scene import SCENES, PlannedAnalyst

LIVE = Surroundings(live=True)
RECORDS = bench_records(Bench(until_s=330.0))


def state_of(records) -> ViewState:
    state = ViewState(ScriptedAnalyst)
    for record in records:
        state.apply(record)
    return state


def page(state, view=None, around=LIVE, size=(140, 45), look=None) -> list[str]:
    return [row_text(row) for row in draw_page(state, view or View(), around, size, look or Look())]


THROTTLED = state_of(RECORDS)
BEHIND = Behind(bench_session(Bench(until_s=600.0, resistance_k_per_w=1.5)), ScriptedAnalyst)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(1, 250),
    st.integers(1, 70),
    st.sampled_from(list(Mode)),
    st.sampled_from(list(Panel)),
    st.sampled_from([None, *Ask]),
    st.sampled_from([Look(), Look(BLOCKS), Look(PLAIN, ascii_only=True)]),
    st.sampled_from([None, 0.0, 200.0]),
)
def test_every_row_is_as_wide_as_the_terminal_at_every_size(width, height, mode, panel, ask, look, cursor_s):
    view = View(mode=mode, panel=panel, cursor_s=cursor_s, prompt=None if ask is None else Prompt(ask, "words"))
    for around in (LIVE, Surroundings(live=False, behind=BEHIND, playing="replay 10×")):
        rows = draw_page(THROTTLED, view, around, (width, height), look)
        assert len(rows) == height
        for row in rows:
            assert width_of(row_text(row)) == width
            assert row_text(row).isprintable()
            assert not look.ascii_only or row_text(row).isascii()


def test_says_what_happens_first_and_why_next():
    rows = page(THROTTLED)
    assert "duct none" in rows[0]
    assert "wall 58.7 W, 1:30 ago" in rows[0]
    assert "room 19.0 °C" in rows[0]
    assert rows[0].rstrip().endswith("5:30")
    assert rows[1].startswith(
        "▌Throttled by heat at 82 °C since 3:33: 3.50 → 2.75 GHz, 52.4 → 38.9 W. All cores for 2:30."
    )
    assert rows[2].startswith(" Temperature stayed at 82 °C for 0:20 while power fell from 52 to 39 W.")


def test_says_what_is_coming_while_it_is_not_held_back():
    rows = page(state_of(bench_records(Bench(until_s=190.0))))
    assert "Not throttled: 3.49 GHz" in rows[1]
    assert "Settles at 104 ± 2 °C" in rows[2]
    assert "reaches its limit of 97 °C in about" in rows[2]


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (140, 45), (200, 60)])
def test_usual_sizes_have_traces_sheet_and_keys(size):
    text = "\n".join(page(THROTTLED, size=size))
    for word in ("clock", "package power", "temperature", "work rate", " 3.00 ┤", "limit 97", "room 19"):
        assert word in text
    assert "├" in text and " heat " in text
    assert "▸ all cores" in text
    for word in (
        "i›idle",
        "1›one",
        "a›all",
        "c›cool",
        "w›wall",
        "r›room",
        "x›stop",
        "?›help",
        "q›leave",
    ):
        assert word in text


def test_phases_stand_under_their_beginning():
    rows = page(THROTTLED)
    row = next(row for row in rows if row.lstrip().startswith("phase  └"))
    axis = next(row for row in rows if row.lstrip().startswith("time"))
    assert row.index("└one core") == axis.index("1:00")
    assert row.index("└all cores") == axis.index("3:00")


def test_a_gap_stays_open():
    state = state_of(bench_records(Bench(until_s=120.0, gap=(30.0, 90.0))))
    rows = page(state, View(step_s=2.0))
    axis = next(row for row in rows if row.lstrip().startswith("time"))
    left, right = axis.index("0:30") + 1, axis.index("1:30") - 1
    drawn = {letter for row in rows[4:10] for letter in row[left:right] if letter != " "}
    assert drawn <= set("·┆")  # ruling only, never a line
    assert "No samples for 60.0 s" in page(state_of(bench_records(Bench(until_s=101.0, gap=(40.0, 100.0)))))[1]


def test_the_cursor_reads_exactly():
    rows = page(THROTTLED, View(cursor_s=100.2))
    index = THROTTLED.index_at(100.2)
    assert rows[2].startswith(f" At 1:40.0: clock {THROTTLED.tracks[keys.CLOCK].at(index) / 1000:.2f} GHz")


@pytest.mark.parametrize("size", [(60, 16), (80, 24), (100, 30), (140, 45)])
def test_the_reading_at_the_cursor_is_whole(size):
    lines = 1 + (3 if size[0] < 100 else 2)
    words = " ".join(" ".join(page(THROTTLED, View(cursor_s=250.2), size=size)[1:lines]).split())
    at = THROTTLED.tracks[keys.WORK_RATE].at(THROTTLED.index_at(250.2))
    assert words.endswith(f"work rate {at:.1f} /s.")
    assert "Throttled by heat at 82" in words


def test_every_key_that_enters_something_is_named_at_80_columns():
    rows = page(THROTTLED, size=(80, 24))
    for key in ("i›idle", "1›one", "a›all", "c›cool", "p›phase", "w›wall", "r›room", "s›score", "n›note", "t›tag"):
        assert f" {key} " in rows[-2] + " "
    for key in ("l›load", "x›stop", "e›entries", "?›help", "q›leave"):
        assert f" {key} " in rows[-1] + " "
    assert "a›all cores" in page(THROTTLED, size=(140, 45))[-2]


def test_tags_stand_before_the_machine():
    heading = page(THROTTLED, size=(140, 45))[0]
    assert heading.startswith(f" duct none · {THROTTLED.machine.processor}")
    assert page(THROTTLED, size=(80, 24))[0].startswith(" duct none · Saltmarsh Six  ")


def test_the_cursor_in_a_gap_shows_nothing():
    state = state_of(bench_records(Bench(until_s=120.0, gap=(40.0, 100.0))))
    assert "clock –, package power –, temperature –" in page(state, View(cursor_s=60.0))[2]


def ended_state(until_s: float = 600.0, **more) -> ViewState:
    state = state_of(bench_records(Bench(until_s=until_s, ended=True, **more)))
    state.conclude()
    return state


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (140, 45), (200, 60)])
def test_after_the_end_the_verdict_stands_first_and_the_forecast_is_gone(size):
    state = ended_state()
    rows = page(state, size=size)
    answer = verdict(state.conclusion)[0]
    words = " ".join(" ".join(rows[1:7]).split())
    assert words.startswith(answer[: min(len(answer), 70)])
    assert "Was throttled by heat at 82 °C from" in words
    assert "The recording ended at 10:00" in words
    assert "Settles" not in words and "…" not in words
    sheet = " ".join(page(state, View(mode=Mode.SHEET), size=size)[1:4])
    assert "…" not in sheet  # what has no room is left out, not cut


@pytest.mark.parametrize("size", [(80, 24), (140, 45)])
def test_after_the_end_the_large_figures_are_those_of_the_loaded_phase(size):
    rows = "\n".join(row[-17:] for row in page(ended_state(), size=size))
    assert "2.75 GHz" in rows and "38.9 W" in rows and "all cores" in rows
    assert "1.10 GHz" not in rows and " 4.9 W" not in rows
    read = "\n".join(row[-17:] for row in page(ended_state(), View(cursor_s=30.0), size=size))
    assert "1.10 GHz" in read


@pytest.mark.parametrize("until_s", [180.0, 407.0, 600.0, 20.0])
@pytest.mark.parametrize("size", [(80, 24), (140, 45)])
def test_a_run_that_is_over_fills_the_paper(until_s, size):
    state = ended_state(until_s)
    view = View()
    page(state, view, size=size)
    window = view.window(state, view.count)
    assert view.count - 2 <= window.column(state.now_s) < view.count
    assert window.column(0.0) == 0


def test_while_it_throttles_what_the_cooler_sustains_is_said():
    state = state_of(RECORDS)
    state.analyst.sustains = Sustains(Figure(31.2, 29.1, 33.0), 81.4)
    for size in ((80, 24), (140, 45)):
        rows = page(state, size=size)
        assert any("This cooler sustains 31 ± 2 W at 81 °C in this room." in row for row in rows[1:4])


def test_by_a_power_limit_nothing_is_said_of_the_cooler():
    state = state_of(bench_records(Bench(until_s=330.0, power_limit_w=41.0)))
    state.analyst.sustains = Sustains(Figure(31.2, 29.1, 33.0), 81.4)
    assert "sustains" not in " ".join(page(state)[:4])


@pytest.mark.parametrize("size", [(60, 16), (80, 24), (100, 30), (140, 45)])
def test_the_sheet_by_itself_has_everything_and_scrolls(size):
    state, view = ended_state(), View(mode=Mode.SHEET)
    desk_lines: list[str] = []
    for _ in range(40):
        rows = page(state, view, size=size)
        desk_lines += [row.strip() for row in rows[3:-2]]
        before = view.sheet_top
        view.sheet_top += view.sheet_room
        page(state, view, size=size)
        if view.sheet_top == before:
            break
    words = " ".join(" ".join(desk_lines).split())
    for heading in ("rise K", "settled", "Throttle event 1 of 1", "Verdict", "Caveats", "Entries"):
        assert heading in words
    assert "Wall reading 58.7 W." in words
    assert "fan_1_rpm was not read: device gone." in words


def test_a_sheet_that_is_longer_than_its_place_says_how_to_see_the_rest():
    assert "lines 1 to 17" in page(ended_state(), View(mode=Mode.SHEET), size=(80, 24))[-3]
    assert "lines 1 to" not in "\n".join(page(ended_state(), View(mode=Mode.SHEET), size=(200, 60)))


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (140, 45), (200, 60)])
def test_labels_do_not_touch_the_edge_and_no_name_is_cut_to_a_stump(size):
    for state in (THROTTLED, ended_state()):
        rows = page(state, size=size)
        for row in rows[4:-6]:
            assert row[0] in " ▸─"
            assert row[-1] in " ─│"
        names = next(row for row in rows if row.lstrip().startswith("phase  ")).split("└")[1:]
        assert all(name.strip() in {"", "idle", "one core", "all cores", "cool-down"} or "…" in name for name in names)


def test_modes_fill_the_screen_with_one_thing():
    assert "throttled by" not in "\n".join(page(THROTTLED, View(mode=Mode.TRACES)))
    sheet = "\n".join(page(THROTTLED, View(mode=Mode.SHEET)))
    assert "throttled by" in sheet
    assert "rated 3.00" not in sheet


def test_an_event_opens_with_its_evidence():
    text = "\n".join(page(THROTTLED, View(panel=Panel.EVENT, event=1)))
    assert "Event 1 of 1" in text
    assert "Temperature stayed at 82 °C for 0:20 while power fell from 52 to 39 W." in text
    assert "Confidence in the cause: 90%." in text


def test_what_does_not_fit_into_a_line_of_an_event_goes_on_below():
    lines = panel_lines(THROTTLED, View(panel=Panel.EVENT, event=1), LIVE, 44)
    further = [line for line in lines if line.startswith(" ")]
    assert further
    assert all(line.startswith("  ") and not line.startswith("   ") for line in further)


def test_help_tells_every_key_and_how_to_read_the_paper():
    text = " ".join(" ".join(page(THROTTLED, View(panel=Panel.HELP))).split())
    for words in ("10 s ago", "the lowest and the highest", "mains voltage", "delete withdraws"):
        assert words in text


def test_entries_are_listed_newest_first():
    rows = page(THROTTLED, View(panel=Panel.ENTRIES))
    listed = [row for row in rows if row.strip()[:1].isdigit() and ("Wall" in row or "Phase" in row or "Room" in row)]
    assert "Wall reading 58.7 W" in listed[0]
    assert "Room temperature 19.0 °C" in listed[-1]


def test_starting():
    state = ViewState(ScriptedAnalyst)
    assert page(state)[1].startswith(" Waiting for the recording to begin.")
    state.apply(header_of(Bench()))
    assert page(state)[1].startswith(" The recording has begun")


def test_no_sensors_at_all():
    channels = (Channel(keys.LOAD, "load", Unit.PERCENT, "scripted", 1.0),)
    state = state_of(bench_records(Bench(until_s=100.0, channels=channels)))
    rows = page(state)
    assert rows[2].startswith(" Not read here: clock, package power, temperature")
    assert any("load" in row for row in rows[4:])


def test_the_sheet_has_no_columns_for_what_the_machine_does_not_offer():
    channels = (
        Channel(keys.LOAD, "load", Unit.PERCENT, "x", 1.0),
        Channel(keys.WORK_RATE, "work", Unit.PER_SECOND, "x"),
    )
    rows = page(state_of(bench_records(Bench(until_s=120.0, channels=channels))), size=(80, 24))
    heading = next(row for row in rows if "throttled by" in row)
    assert heading.split()[:3] == ["phase", "length", "work"]


def test_a_sensor_that_goes_away_is_told_with_its_reason():
    state = state_of(
        [*bench_records(Bench(until_s=50.0)), ChannelState(50.0, keys.PROCESSOR_TEMP, False, "device gone")]
    )
    assert "Not read here: temperature (device gone)." in page(state)[2]


def test_the_end_is_told():
    state = state_of([*bench_records(Bench(until_s=550.0)), SessionEnd(550.0, "stopped by user")])
    assert "The recording ended at 9:10 (stopped by user)." in page(state)[1]


def test_a_silent_recorder_is_told():
    assert "Nothing has come from the recorder for 0:20" in page(THROTTLED, around=Surroundings(True, silent_s=20.0))[1]


def test_accelerated_time_is_told():
    state = state_of(bench_records(Bench(until_s=20.0, virtual="small box", time_scale=20.0)))
    for size in ((80, 24), (140, 45)):
        assert "simulated, 20× real time" in page(state, size=size)[0]


def test_a_replay_has_a_pace_of_its_own():
    state = state_of(bench_records(Bench(until_s=20.0, virtual="small box", time_scale=20.0)))
    heading = page(state, around=Surroundings(live=False, playing="replay 10×"))[0]
    assert "simulated · replay 10×" in heading
    assert "running" not in heading  # the replay tells its time itself
    assert "real time" not in heading


def test_the_earlier_run_lies_under_the_same_phase():
    rows = page(THROTTLED, around=Surroundings(True, behind=BEHIND))
    assert any("then 83 °C" in row for row in rows)
    pieces = BEHIND.pieces(THROTTLED.analyst.phases())
    assert [piece.shift_s for piece in pieces] == [0.0, 0.0, 0.0]
    moved = state_of([*RECORDS, Mark(90, 170.0, 331.0, MarkKind.PHASE, "all cores", replaces=4)])
    assert BEHIND.pieces(moved.analyst.phases())[-1].shift_s == -10.0


def test_an_earlier_run_that_was_hotter_is_on_the_paper_too():
    hot = Behind(bench_session(Bench(until_s=600.0, resistance_k_per_w=1.5)), ScriptedAnalyst)
    low, high = hot.state.tracks[keys.PACKAGE_POWER].least, hot.state.tracks[keys.PACKAGE_POWER].greatest
    track = state_of(bench_records(Bench(until_s=100.0))).tracks[keys.PACKAGE_POWER]
    assert track.greatest < high
    scale = scale_of(POWER, track, hot.state.tracks[keys.PACKAGE_POWER], (), 4, down=4).scale
    assert scale.low <= low and high <= scale.high
    assert scale_of(POWER, track, None, (), 4, down=4).scale.high < high


def test_the_earlier_run_goes_on_ahead_of_the_pen():
    window = View().window(THROTTLED, 200)
    pieces = BEHIND.pieces(THROTTLED.analyst.phases())
    from benchmon.views.traces import Scale

    drawn = BEHIND.drawn(keys.PROCESSOR_TEMP, pieces, window, Scale(20, 80), 5, pen=LINE)
    assert drawn[window.column(340.0)] is not None


def test_a_terminal_that_is_too_small_gets_a_sentence():
    text = " ".join(" ".join(page(THROTTLED, size=(20, 6))).split())
    assert text.startswith("Throttled by heat at 82")
    assert text.endswith("q leaves.")
    text = " ".join(" ".join(page(THROTTLED, size=(40, 8))).split())
    assert text.endswith("The whole screen needs 60x16. q leaves.")
    assert page(THROTTLED, size=(1, 1)) == ["T"]


def test_words_from_a_file_cannot_move_the_cursor():
    header = header_of(Bench(tags={"evil": "\x1b[2J\x07name"}))
    state = state_of(
        [header, *RECORDS[1:200], Mark(50, 60.0, 99.0, MarkKind.PHASE, "\x1b]0;x\x07\n漢字 long name of a phase")]
    )
    for row in draw_page(state, View(), LIVE, (80, 24), Look()):
        assert row_text(row).isprintable()
        assert width_of(row_text(row)) == 80


@pytest.mark.parametrize(
    ("environment", "encoding", "pen", "colour"),
    [
        ({"TERM": "xterm-256color"}, "utf-8", "line", True),
        ({"TERM": "linux"}, "utf-8", "blocks", True),
        ({"TERM": "xterm", "NO_COLOR": "1"}, "utf-8", "line", False),
        ({"TERM": "xterm"}, "ascii", "plain", True),
        ({"TERM": "xterm"}, "latin-1", "plain", True),
        ({"TERM": "dumb"}, "", "plain", False),
    ],
)
def test_the_look_follows_the_terminal(environment, encoding, pen, colour):
    look = look_for(environment, encoding)
    assert (look.pen.name, bool(look.palette)) == (pen, colour)


def test_cutting_counts_wide_letters():
    assert cut("漢字漢字", 5) == "漢字…"
    assert width_of("é\u0301漢") == 3


def test_a_power_limit_is_named():
    state = state_of(bench_records(Bench(until_s=330.0, power_limit_w=41.0)))
    rows = page(state)
    assert "Power-limited since" in rows[1]
    assert any("limit 41" in row for row in rows)
    assert any("─ power limit ─" in row for row in rows)


def test_samples_without_a_header_do_no_harm():
    state = ViewState(ScriptedAnalyst)
    assert isinstance(header_of(Bench()), SessionHeader)
    assert not state.tracks
    assert len(page(state, size=(80, 24))) == 24
    assert isinstance(RECORDS[-1], Sample)


def test_drawing_again_and_again_gives_what_drawing_once_gives():
    state, view = ViewState(ScriptedAnalyst), View()
    for place, record in enumerate(bench_records(Bench(until_s=400.0, gap=(100.0, 130.0)))):
        state.apply(record)
        if place % 7 == 0:
            page(state, view)
    again = page(state_of(bench_records(Bench(until_s=400.0, gap=(100.0, 130.0)))), View())
    assert page(state, view) == again


def test_a_cut_recording_is_told():
    around = Surroundings(live=False, is_cut=True, playing="replay 10×")
    assert "stops at 5:30 without an end" in page(THROTTLED, around=around)[1]


def test_the_chosen_entry_is_always_in_sight():
    marks = [Mark(100 + place, 331.0, 331.0, MarkKind.NOTE, f"note {place}") for place in range(40)]
    state = state_of([*RECORDS, *marks])
    for entry in (0, 20, 44):
        rows = draw_page(state, View(panel=Panel.ENTRIES, entry=entry), LIVE, (80, 24), Look())
        assert sum(any(style == "strong!" for style, _ in row) for row in rows) == 1


def test_what_a_pause_asks_for_is_whole_at_80_columns():
    scene = SCENES["waiting"]()
    state = ViewState(PlannedAnalyst)
    for record in scene.records():
        state.apply(record)
    words = " ".join(" ".join(page(state, size=(80, 24))[1:4]).split())
    assert "To do: close the case, and read the wall meter. Press y when it is done. To be entered: wall." in words


def test_a_forecast_of_the_phase_before_is_not_said_of_this_one():
    state = state_of(bench_records(Bench(until_s=200.0)))
    assert "Settles at" in coming(state)
    state.analyst.forecast = replace(state.analyst.forecast, phase="one core", said_at_s=170.0)
    assert "Settles at" not in coming(state)
