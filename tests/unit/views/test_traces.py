"""Traces by assertion: whatever the zoom, no reading is lost, and gaps stay open."""

from __future__ import annotations

from math import isnan, nan

from hypothesis import given, settings
from hypothesis import strategies as st

from benchmon.views.traces import BLOCKS, LINE, PLAIN, Columns, Scale, characters, raster, redraw, span_of, spans

PENS = st.sampled_from([LINE, BLOCKS, PLAIN])
READINGS = st.lists(st.one_of(st.just(nan), st.floats(0, 100, allow_nan=False)), min_size=1, max_size=200)


def columns_of(readings: list[float], period_s: float, step_s: float) -> Columns:
    columns = Columns(step_s, longest_join_s=2.5 * period_s)
    for place, value in enumerate(readings):
        columns.add(place * period_s, value)
    return columns


def lit(cells: list[bytearray], column: int, dot: int, pen) -> bool:
    return bool(cells[dot // pen.down][column // pen.across] >> (column % pen.across * pen.down + dot % pen.down) & 1)


@settings(deadline=None)
@given(READINGS, st.sampled_from([0.05, 0.1, 0.5, 1.0, 3.0, 7.0, 60.0]), st.integers(1, 12), PENS)
def test_least_and_greatest_of_every_column_are_drawn_at_every_zoom(readings, step_s, rows, pen):
    period_s = 0.5
    dots = rows * pen.down
    columns = columns_of(readings, period_s, step_s)
    count = int(len(readings) * period_s / step_s) + 2
    cells = raster(spans(columns, 0, count, Scale(0.0, 100.0), dots, least_dots=pen.least_dots), rows, pen)
    by_column: dict[int, list[float]] = {}
    for place, value in enumerate(readings):
        if not isnan(value):
            by_column.setdefault(int(place * period_s / step_s + 1e-9), []).append(value)
    for column, values in by_column.items():
        for value in (min(values), max(values)):
            exact = (100.0 - value) * (dots - 1) / 100.0  # a tie may go either way
            assert any(lit(cells, column, round(exact + tie), pen) for tie in (-1e-9, 1e-9))


@settings(deadline=None)
@given(READINGS, st.sampled_from([0.1, 0.5, 2.0, 10.0]), st.integers(2, 40))
def test_a_one_sample_dip_shows_at_every_zoom(readings, step_s, dip_at):
    flat = [100.0] * 400
    flat[dip_at] = 0.0
    cells = raster(spans(columns_of(flat, 0.5, step_s), 0, int(200 / step_s) + 1, Scale(0.0, 100.0), 12), 4, LINE)
    assert any(cells[3])
    assert lit(cells, int(dip_at * 0.5 / step_s + 1e-9), 11, LINE)


@settings(deadline=None)
@given(READINGS, st.integers(0, 60), st.integers(1, 60))
def test_a_window_shows_what_the_whole_shows(readings, first, count):
    columns = columns_of(readings, 0.5, 1.0)
    whole = spans(columns, 0, 130, Scale(0.0, 100.0), 20)
    part = spans(columns, first, count, Scale(0.0, 100.0), 20)
    assert len(part) == count
    for place, span in enumerate(part):
        full = whole[first + place]
        assert (span is None) == (full is None)
        if span is not None:
            assert span == full


@settings(deadline=None)
@given(READINGS, st.integers(0, 199), PENS, st.integers(1, 8))
def test_drawing_on_from_the_last_column_equals_drawing_all_again(readings, known, pen, rows):
    dots, scale = rows * pen.down, Scale(0.0, 100.0)
    columns = Columns(1.0, 1.25)
    for place, value in enumerate(readings[:known]):
        columns.add(place * 0.5, value)
    cells = raster(spans(columns, 0, 120, scale, dots), rows, pen)
    changed = max(columns.places[-1], 0) if columns.places else 0
    for place, value in enumerate(readings[known:], start=known):
        columns.add(place * 0.5, value)
    redraw(cells, changed, spans(columns, changed, 120 - changed, scale, dots), pen)
    assert cells == raster(spans(columns, 0, 120, scale, dots), rows, pen)


def test_growing_sample_by_sample_equals_drawing_at_once():
    grown = Columns(1.0, 2.0)
    for place in range(50):
        grown.add(place * 0.5, float(place % 7))
    at_once = columns_of([float(place % 7) for place in range(50)], 0.5, 1.0)
    assert spans(grown, 0, 30, Scale(0, 7), 12) == spans(at_once, 0, 30, Scale(0, 7), 12)


def test_a_line_is_not_drawn_across_a_gap():
    columns = Columns(1.0, longest_join_s=2.0)
    for t_s in (0, 1, 2, 10, 11):
        columns.add(float(t_s), 50.0)
    drawn = spans(columns, 0, 12, Scale(0.0, 100.0), 9)
    assert [span is not None for span in drawn] == [True] * 3 + [False] * 7 + [True] * 2


def test_a_reading_that_is_missing_lifts_the_pen():
    drawn = spans(columns_of([1.0, nan, 1.0], 1.0, 1.0), 0, 3, Scale(0.0, 2.0), 9)
    assert drawn == [(4, 4), None, (4, 4)]


def test_sparse_readings_are_bridged_when_zoomed_in():
    drawn = spans(columns_of([0.0, 10.0], 1.0, 0.25), 0, 5, Scale(0.0, 10.0), 11)
    assert all(span is not None for span in drawn)
    assert drawn[0] == (10, 10)
    assert drawn[4] == (0, 1)


def test_a_jump_leaves_no_hole_in_the_line():
    drawn = spans(columns_of([0.0, 0.0, 10.0, 10.0], 1.0, 1.0), 0, 4, Scale(0.0, 10.0), 11)
    assert drawn == [(10, 10), (10, 10), (0, 9), (0, 0)]


def test_values_beyond_the_paper_are_held_at_its_edge():
    assert spans(columns_of([-5.0, 200.0], 1.0, 1.0), 0, 2, Scale(0.0, 100.0), 8) == [(7, 7), (0, 6)]


def test_a_dip_of_an_eighth_of_a_row_shows_with_every_pen():
    rows, scale = 3, Scale(0.0, 60.0)
    for pen in (LINE, BLOCKS, PLAIN):
        for level in (5.0, 21.0, 38.0, 52.4):
            readings = [level] * 20
            readings[9] = level - 60.0 / rows / 8 * 1.3
            drawn = spans(columns_of(readings, 1.0, 1.0), 0, 20, scale, rows * pen.down, least_dots=pen.least_dots)
            flat = spans(columns_of([level] * 20, 1.0, 1.0), 0, 20, scale, rows * pen.down, least_dots=pen.least_dots)
            two_in_a_column = spans(
                columns_of(readings, 1.0, 4.0), 0, 5, scale, rows * pen.down, least_dots=pen.least_dots
            )
            assert drawn[:9] == flat[:9]
            assert two_in_a_column[2] != two_in_a_column[1], (pen.name, level)
            assert two_in_a_column[2] == span_of(readings[9], level, scale, rows * pen.down, least_dots=pen.least_dots)


def test_glyphs_of_each_pen():
    assert characters(bytearray([0b001, 0b010, 0b011, 0b100, 0b110, 0b111, 0]), LINE) == "▔━┷▁┯┃ "
    assert characters(bytearray([1, 2, 3, 0]), BLOCKS) == "▀▄█ "
    assert characters(bytearray([1, 2, 4, 0]), PLAIN) == "'-. "
    for pen in (LINE, BLOCKS, PLAIN):
        assert len(pen.glyphs) == 2 ** (pen.across * pen.down)
        assert " " not in pen.glyphs[1:]
