"""The cells of the bench sheet on the screen say what the printed sheet says."""

from dataclasses import replace

from benchmon.model import keys
from benchmon.model.findings import Figure, PhaseFindings, Settling
from benchmon.views.sheets.phase_table import phase_table
from benchmon.views.tui.sheet_cells import COLUMNS, Context
from tests.support.summaries import HEAT, SUSTAINED


def cell(heading, phase, events=()):
    column = next(column for column in COLUMNS if column.heading == heading)
    text = column.cell(phase, Context(500.0, {event.number: event for event in events}))
    assert len(text) <= column.width
    return text


def test_the_length_is_rounded_once_the_phase_is_over():
    assert cell("length", PhaseFindings("idle", 0.0, 39.98, {})) == "0:40"
    assert cell("length", PhaseFindings("idle", 460.02, None, {})) == "0:39"


def test_how_long_it_was_held_back_is_what_its_times_give():
    event = replace(HEAT, start_s=205.56, end_s=380.003)
    phase = PhaseFindings("all cores", 140.0, 380.003, {}, events=(event.number,))
    assert cell("throttled by", phase, [event]) == "heat 2:55"


def test_how_far_from_settled_is_never_cut():
    settling = Settling(False, None, -82.5, "at most 1 K in 5 min", window_s=300.0)
    phase = PhaseFindings("cool-down", 0.0, 40.0, {}, settling={keys.PROCESSOR_TEMP: settling})
    assert cell("settled", phase) == "no, 16.5 K/min"


def test_resistance_stands_beside_settled_phases_alone():
    """Of a phase that had not settled, rise and power do not divide to it."""
    found = Figure(1.96, 1.66, 2.26)
    for settled, words in ((True, "1.96"), (False, "–"), (None, "–")):
        settling = {keys.PROCESSOR_TEMP: Settling(settled, None, 0.4, "at most 1 K in 5 min")}
        phase = PhaseFindings("one core", 0.0, 120.0, {}, settling=settling, resistance_k_per_w=found)
        assert cell("K/W", phase) == words
        printed = phase_table([phase], 120.0, None)
        assert ("resist." in printed.columns) is (words != "–")


def test_a_throttled_phase_is_steady_or_moving_and_never_settled():
    for is_settled, words in ((True, "power steady"), (False, "power moving"), (None, "–")):
        phase = PhaseFindings("all cores", 0.0, 400.0, {}, sustained=replace(SUSTAINED, is_settled=is_settled))
        assert cell("settled", phase) == words
