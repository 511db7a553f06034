"""Words on pictures: clear of one another, on the paper, and all there where there is room."""

from dataclasses import replace
from itertools import combinations
from math import inf

import pytest

from benchmon.analysis.summary import summarise
from benchmon.model.records import LoadAction, LoadChange
from benchmon.views.figures.labels import Box, Paper, around, names_along, shortened
from benchmon.views.figures.rise_labels import RiseLayout, rise_labels, rise_ticks
from benchmon.views.figures.rise_picture import rise_picture
from benchmon.views.figures.run_picture import run_picture, work_unit
from benchmon.views.figures.strip_labels import Layout, scale_of, strip_labels
from benchmon.views.figures.ticks import round_ticks, tick_words
from tests.support.bench_sessions import bench

STAIR = [("idle", 300, 6.0, 0)] + [(f"step {i} of the stair", 120, 6 + 4.0 * i, 6) for i in range(1, 13)]


def measure(words):
    return 6.0 * len(words), 12.0


@pytest.fixture(scope="module")
def stair():
    made = bench(STAIR, room_c=21.5, k_per_w=0.9, cores=6, limit_c=95.0, walls=[(290, 17.0), (295, 17.5), (900, 30.0)])
    return made, summarise(made, look_every_s=inf)


def test_words_about_many_points_keep_apart(stair):
    picture = rise_picture(*stair)
    watts, kelvins = rise_ticks(picture)
    size = 900.0, 420.0
    layout = RiseLayout(
        *size,
        lambda w: size[0] * w / watts[-1],
        lambda k: size[1] * (k - kelvins[0]) / (kelvins[-1] - kelvins[0]),
        dict.fromkeys(("point", "limit", "line", "capacity"), measure),
        6.0,
    )
    labels = [label for label, _ in rise_labels(picture, layout)]
    names = {label.words for label in labels}
    assert {point.name for point in picture.points} <= names and picture.capacity_words in names
    assert not [(a.words, b.words) for a, b in combinations(labels, 2) if a.box.meets(b.box)]
    dots = [(layout.across(p.power_w), layout.up(p.rise_k)) for p in picture.points]
    for label in labels:
        assert Box(0.0, 0.0, *size).holds(label.box)
        assert not [at for at in dots if label.box.meets(Box(at[0] - 3, at[1] - 3, at[0] + 3, at[1] + 3))]


def test_points_upon_one_another_share_their_words(stair):
    picture = rise_picture(*stair)
    twice = replace(picture, points=(picture.points[0], replace(picture.points[0], name="again"), *picture.points[1:]))
    layout = RiseLayout(
        900, 420, lambda w: 9 * w, lambda k: 4 * k, dict.fromkeys(("point", "limit", "line", "capacity"), measure), 6.0
    )
    assert "idle; again" in {label.words for label, _ in rise_labels(twice, layout)}


def test_words_on_a_strip_keep_apart_and_off_the_trace(stair):
    picture = run_picture(*stair)
    for strip in picture.strips:
        layout = Layout(900.0, 100.0, measure, measure, measure, 4.0)
        labels = strip_labels(strip, picture, layout, with_stretches=True)
        assert {words for _, words in strip.levels} <= {label.words for label in labels}
        assert not [(a, b) for a, b in combinations(labels, 2) if a.box.meets(b.box)]
        up = scale_of(strip, 100.0).up
        trace = [
            (900.0 * t_s / picture.until_s, up(low))
            for piece in strip.pieces
            for t_s, low in zip(piece.times_s, piece.lows, strict=True)
        ]
        for label in labels:
            box = label.box
            assert not [at for at in trace if box.left < at[0] < box.right and box.low < at[1] < box.high], label.words


def test_room_that_is_taken_is_not_given_twice():
    paper = Paper(Box(0, 0, 100, 20))
    places = around((50.0, 10.0), (30.0, 5.0), 2.0)
    first, second = paper.place(places), paper.place(places)
    assert first is not None and second is not None and not first.meets(second)
    assert Paper(Box(0, 0, 10, 10)).place(places) is None


def test_a_line_is_crossed_only_where_there_is_no_other_room():
    paper = Paper(Box(0, 0, 100, 20))
    paper.draw([(0.0, 2.0), (100.0, 2.0)])
    crossing, free = Box(0, 0, 30, 5), Box(0, 10, 30, 15)
    assert paper.place([crossing, free]) is free
    assert paper.place([crossing]) is crossing


def test_names_are_cut_to_their_phase():
    names = names_along([(0, 60, "idle"), (60, 100, "all cores"), (100, 110, "cool-down")], measure, 3.0)
    assert names == [(3.0, "idle"), (63.0, "all…")]
    assert shortened("all cores", 1e9, measure) == "all cores" and shortened("all cores", 10.0, measure) == ""


def test_an_axis_of_what_does_not_move_is_wide_and_plain():
    """A clock that stays at 2400 MHz was once drawn on an axis from 1e-6 + 2.400001 on."""
    ticks = round_ticks(2.4, 2.4)
    assert ticks[0] < 2.4 < ticks[-1] and ticks[-1] - ticks[0] >= 0.1
    assert tick_words(ticks)[0] == "2.30"
    noisy = round_ticks(3499.0, 3501.0)
    assert noisy[-1] - noisy[0] >= 0.05 * 3500


def test_the_work_rate_has_the_sheets_unit():
    made = bench([("all cores", 120, 30.0, 6)], cores=6)

    def of(*sizes):
        loads = [
            LoadChange(float(i), LoadAction.STARTED, "w", 6, work="widest", unit_operations=o, unit_bytes=b)
            for i, (o, b) in enumerate(sizes)
        ]
        return work_unit(replace(made, records=(*[r for r in made.records if not isinstance(r, LoadChange)], *loads)))

    assert of((7e8, None)) == ("GFlop/s", 0.7)
    assert of((None, 2e9)) == ("GB/s", 2.0)
    assert of((7e8, None), (3e8, None)) == ("units/s", 1.0)
    assert of((None, None)) == ("units/s", 1.0)
