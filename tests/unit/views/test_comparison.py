"""A comparison in its four formats: what it says, at 80 columns, and nothing that steers a reader's program."""

import csv
import io
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.model import keys
from benchmon.model.comparison import WorkUnit
from benchmon.model.findings import Figure
from benchmon.session.reader import read_session
from benchmon.views.figures.comparison_page import render_comparison_page
from benchmon.views.sheets.comparison import document_json, markdown, table_csv, text
from benchmon.views.sheets.comparison.content import make_comparison
from benchmon.views.words.comparison import _apart, cooling_sentence, percent, signed, speed_sentence

ROOT = Path(__file__).resolve().parents[3]
NAMES = ("box-as-bought", "box-with-duct", "box-in-a-warm-room")


@pytest.fixture(scope="module")
def runs():
    return [bench_run(read_session(ROOT / "recordings" / f"{name}.session.jsonl"), name) for name in NAMES]


def test_the_text_answers_the_question_and_fits_80_columns(runs):
    drawn = text.render(compare(runs[:2]))
    assert "Better. At 82 °C in a 19 °C room the cooler sustains 55 W" in drawn
    assert "Changed  duct: none → fitted" in drawn
    assert "Throttled in all cores: duct none for 7:01, duct fitted never." in drawn
    assert "37 W (simulated)" in " ".join(drawn.split()) and "measured" not in drawn
    assert max(map(len, drawn.splitlines())) <= 80
    assert max(map(len, text.render(compare(runs)).splitlines())) <= 80


def test_the_rate_of_work_is_said_in_operations_where_its_units_are_of_known_size(runs):
    """840 units of 2 · 192³ operations (a product of two matrices needs 2 n³) a second are 11.9 GFlop/s."""
    contrast = compare(runs[:2]).contrasts[0]
    speed = replace(contrast.speed, why_not="", before=840.0, after=1680.0)
    contrast = replace(contrast, speed=speed, speed_key=keys.WORK_RATE)
    sized = replace(contrast, speed_unit=WorkUnit("widest", 2.0 * 192**3, None))
    assert ": it sustains 23.8 GFlop/s instead of 11.9 GFlop/s (" in speed_sentence(sized)
    unsized = replace(contrast, speed_unit=None)
    assert ": it sustains 1680 units of work a second instead of 840 units of work a second (" in speed_sentence(
        unsized
    )


def as_measured(run, name):
    """The same readings as if a real machine had given them."""
    header = replace(run.summary.header, session_id=name, virtual="")
    return replace(run, name=name, summary=replace(run.summary, header=header))


def test_what_was_simulated_is_said_of_each_side_by_itself(runs):
    bought, warm = runs[0], runs[2]  # heat throttled both
    made = compare([as_measured(bought, "real"), warm])
    said = cooling_sentence(made.contrasts[0], made.before)
    assert re.search(r"sustains \d+ W \(simulated\) instead of \d+ W \(measured\)", said)
    made = compare([warm, as_measured(bought, "real")])
    said = cooling_sentence(made.contrasts[0], made.before)
    assert re.search(r"sustains \d+ W \(measured\) instead of \d+ W \(simulated\)", said)
    drawn = " ".join(text.render(made).split())
    assert "Before box-in-a-warm-room: 2026-11-25, duct fitted, room attic, simulated After real: 2026" in drawn
    assert "Simulated: box-in-a-warm-room; the rest is of a machine." in drawn
    mixed = compare([bought, *(again(run, duct="other") for run in (warm, as_measured(warm, "real")))])
    assert "(measured or simulated)" in cooling_sentence(mixed.contrasts[0], mixed.before)
    assert "measured or simulated" in dict(make_comparison(mixed).facts)["After"]


def again(run, **tags):
    return replace(run, summary=replace(run.summary, tags=tags))


def test_the_table_shows_a_rate_of_work_as_the_sheet_does_and_as_units_where_their_size_differs(runs):
    """168 units of 0.7 GFlop a second are 117.6 GFlop/s."""

    def rate(made):
        (table,) = (one for one in make_comparison(made).sections[0].phases if one.title == "one core")
        (row,) = (row for row in table.rows if row[0] == "built-in work")
        return row[1:]

    assert rate(compare(runs[:2])) == ("GFlop/s", "117.6", "117.6", "0 ± 3")
    other = tuple(
        replace(one, load=replace(one.load, unit=one.load.unit and replace(one.load.unit, operations=1e9)))
        for one in runs[1].phases
    )
    made = compare([runs[0], replace(runs[1], phases=other)])
    assert rate(made) == ("1/s", "168.0", "168.0", "(units of work of another size)")
    assert "3500 MHz instead of" in speed_sentence(made.contrasts[0])
    assert "The units of work (widest) are of another size: their rates are not compared." in " ".join(
        text.render(made).split()
    )
    copies = tuple(
        replace(one, load=replace(one.load, unit=one.load.unit and WorkUnit("memory", None, 5e6)))
        for one in runs[0].phases
    )
    made = compare([replace(runs[0], phases=copies), again(replace(runs[0], name="b", phases=copies), duct="b")])
    assert rate(made)[:3] == ("GB/s", "0.84", "0.84")


def test_what_would_decide_it_is_said(runs):
    drawn = " ".join(text.render(compare(runs[1:])).split())
    assert "Cannot say." in drawn
    assert re.search(r"What would decide it: \d more runs? of each, if the difference stays what it is\.", drawn)
    drawn = " ".join(text.render(compare(runs[1:], 0.2)).split())
    assert (
        "What would decide it: runs that heat throttles all, or none: in one room, a warmer or a cooler one." in drawn
    )


@pytest.mark.parametrize(
    ("figure", "expected"),
    [
        ((17.7, 11.7, 24.0), "18 ± 6 W more"),
        ((-17.7, -24.0, -11.7), "18 ± 6 W less"),
        ((17.7, 11.7, 28.0), "18 W more, between 12 and 28 W"),
        ((-17.7, -28.0, -11.7), "18 W less, between 12 and 28 W"),
        ((4.9, 0.1, 9.4), "5 W more, between 0.1 and 9 W"),
        ((3.0, -2.0, 12.0), "3 W more, between 2 W less and 12 W more"),
        ((3.0, -2.0, 8.0), "3 ± 5 W more"),
        ((-0.31, -0.9, 0.08), "0.3 W less, between 0.1 W more and 0.9 W less"),
    ],
)
def test_an_interval_is_told_by_its_ends_where_plus_and_minus_would_not_hold(figure, expected):
    assert _apart(Figure(*figure), "W", "more", "less") == expected


def test_a_decided_change_is_not_seen_to_begin_at_zero():
    assert percent(Figure(0.1, 0.004, 0.23)) == "0.4 to 23 % better"
    assert percent(Figure(-0.1, -0.23, -0.004)) == "0.4 to 23 % worse"
    assert percent(Figure(0.1, 0.0096, 0.23)) == "1 to 23 % better"
    assert percent(Figure(0.1, -0.004, 0.23)) == "between 0 % worse and 23 % better"


def test_a_rise_that_stays_what_it_is_is_said_to(runs):
    made = compare([runs[1], replace(again(runs[1], duct="b"), name="b")], 0.0)
    assert made.contrasts[0].cooling.why_not == "it is the same recording"
    header = replace(runs[1].summary.header, session_id="b")
    other = replace(runs[1], summary=replace(runs[1].summary, header=header))
    made = compare([runs[1], other], 0.0)
    said = cooling_sentence(made.contrasts[0], made.before)
    assert re.search(r"it ends as hot, within \d K \(60 K above the room, and 60 K before\)", said)


def test_many_comparisons_are_said_to_be_many(runs):
    drawn = text.render(compare(runs))
    assert "2 comparisons are made at once" in drawn
    table = drawn.split("Best first")[1].split("\n\n")[0]
    assert [line.split()[0] for line in table.splitlines()[3:]] == ["fitted", "fitted", "none"]


def test_json_is_what_its_page_says(runs):
    page = (ROOT / "docs/comparison-json.md").read_text()
    document = json.loads(document_json.render(compare(runs[:2])))
    contrast = document["contrasts"][0]
    told = set(re.findall(r"^\| `(\w+)` \|", page, re.MULTILINE))
    assert told == {*document, *contrast, *contrast["cooling"]}
    for inner in (contrast["conditions"], contrast["phases"][0], document["spread"], document["before"]["runs"][0]):
        assert all(f"`{key}`" in page for key in inner)


def test_csv_has_a_row_for_each_quantity(runs):
    rows = list(csv.DictReader(io.StringIO(table_csv.render(compare(runs[:2])))))
    assert [row["what"] for row in rows[:2]] == ["cooling", "speed"]
    (clock,) = (row for row in rows if row["what"] == "clock_mhz" and row["phase_before"] == "all cores")
    assert float(clock["difference"]) == pytest.approx(float(clock["after"]) - float(clock["before"]), abs=0.02)


def test_strangers_words_stay_words(runs):
    tags = {"=cmd|x": "<b>**[a](http://b)**"}
    summary = replace(runs[1].summary, tags=tags)
    made = compare([runs[0], replace(runs[1], summary=summary, name="\x1b[31m<i>")])
    assert "\x1b" not in text.render(made) + markdown.render(made) + document_json.render(made)
    assert "<b>" not in markdown.render(made)
    (contrast,) = made.contrasts
    score = replace(contrast.phases[0].rows[0], key="=1+1", unit="@pts")  # as a score may be called
    pair = replace(contrast.phases[0], rows=(score,))
    made = replace(made, contrasts=(replace(contrast, phases=(pair,)),))
    cells = [cell for row in csv.reader(io.StringIO(table_csv.render(made))) for cell in row]
    assert "'=1+1" in cells
    assert "'@pts" in cells
    assert not any(cell.startswith("=") for cell in cells)


def test_differences_say_their_sign_and_nothing_has_none():
    assert signed(Figure(17.7, 11.0, 24.0), "W") == "+18 ± 7 W"
    assert signed(Figure(-0.004, -0.05, 0.05), "") == "0.00 ± 0.05"
    assert signed(Figure(0.3, -0.8, 1.4), "W") == "0 ± 1 W"
    assert percent(Figure(0.4, 0.29, 0.69)) == "29 to 69 % better"
    assert percent(Figure(-0.4, -0.5, -0.3)) == "30 to 50 % worse"
    assert percent(Figure(0.0, -0.11, 0.15)) == "between 11 % worse and 15 % better"


def test_many_long_tags_and_names_stay_within_80_columns(runs):
    """Twelve tags, a score with a name as long as a line, strangers' signs in both."""

    def tagged(run, name, number):
        tags = {f"tag{at}": f"value number {at + number * (at % 2)} <is> long" for at in range(12)}
        header = replace(run.summary.header, session_id=name)
        return replace(run, name=name, summary=replace(run.summary, header=header, tags=tags))

    for some in (runs[:2], runs):
        made = compare([tagged(run, f"run-{at}", at) for at, run in enumerate(some)])
        contrasts = tuple(
            replace(
                one,
                phases=tuple(
                    replace(pair, rows=(*pair.rows, replace(pair.rows[0], key="score " + "x" * 90)))
                    for pair in one.phases
                ),
            )
            for one in made.contrasts
        )
        drawn = text.render(replace(made, contrasts=contrasts))
        assert max(map(len, drawn.splitlines())) <= 80
        assert "Throttled in all cores: run-0 for 7:01, run-1 never." in " ".join(drawn.split())
        assert "tag11 value number" in drawn


def test_a_copy_is_named(runs):
    made = compare([runs[0], replace(runs[0], name="twin"), runs[1]])
    assert "The same recording under another name counts once: twin is box-as-bought." in " ".join(
        text.render(made).split()
    )


def test_a_reason_too_long_for_its_column_goes_on_below_it(runs):
    made = compare(runs[:2])
    pair = made.contrasts[0].phases[0]
    row = replace(pair.rows[0], difference=Figure(why_not="the phases are not of one length"))
    contrast = replace(made.contrasts[0], phases=(replace(pair, rows=(row,)),))
    drawn = text.render(replace(made, contrasts=(contrast,)))
    assert "(the phases are not of one length)" in " ".join(drawn.split())


def test_a_speed_from_another_room_says_so(runs):
    """The duct's machine was throttled in the attic and not below: that is the room's doing."""
    assert "Slower, but in rooms of 19 and 30 °C: it sustains" in speed_sentence(compare(runs[1:]).contrasts[0])
    assert "but in rooms" not in speed_sentence(compare(runs[:2]).contrasts[0])


def test_a_page_of_several_configurations_says_whose_phases_and_doubts_it_shows(runs):
    page = render_comparison_page(compare(runs), None)
    for title in ("duct fitted after duct none", "duct fitted, room attic after duct none"):
        assert f"<h2>Not alike ({title})</h2>" in page
        assert f"<h2>Phase by phase ({title})</h2>" in page
