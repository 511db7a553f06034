"""A change as a picture: two runs laid over one another phase by phase, and differences that are the comparison's."""

import xml.etree.ElementTree as ET
from math import inf
from pathlib import Path

import html5lib
import pytest

from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.analysis.summary import summarise
from benchmon.cli.main import main
from benchmon.session.reader import read_session
from benchmon.views.figures.change_in_terminal import draw_change_in_terminal
from benchmon.views.figures.change_picture import change_picture
from benchmon.views.figures.comparison_page import render_comparison_page
from benchmon.views.figures.files.saving import Style
from benchmon.views.figures.making import save_change
from benchmon.views.words.comparison import cooling_sentence

RECORDINGS = Path(__file__).parents[3] / "recordings"
NAMES = ("box-as-bought", "box-with-duct")


@pytest.fixture(scope="module")
def change():
    sessions = [read_session(RECORDINGS / f"{name}.session.jsonl") for name in NAMES]
    comparison = compare([bench_run(one, name) for one, name in zip(sessions, NAMES, strict=True)])
    before, after = ((one, summarise(one, look_every_s=inf)) for one in sessions)
    return comparison, before, after


def test_phases_lie_over_one_another(change):
    comparison, before, after = change
    picture = change_picture(*change)
    assert [name for _, _, name in picture.run.phases] == [phase.name for phase in after[1].phases]
    starts = [start for start, _, _ in picture.run.phases]
    told = [phase.start_s for phase in after[1].phases]  # phases of the demo have the same lengths in both runs
    assert starts == pytest.approx(told, abs=0.01)
    temp = picture.run.strips[0]
    assert max(high for piece in temp.earlier for high in piece.highs) > max(
        high for piece in temp.pieces for high in piece.highs
    )
    assert "before: throttled by heat" in {stretch.words for stretch in picture.run.stretches}
    assert not [stretch for stretch in picture.run.stretches if stretch.words.startswith("after")]


def test_of_a_run_and_itself_both_lines_are_the_same(change):
    _, before, _ = change
    comparison = compare([bench_run(before[0], "a"), bench_run(before[0], "b")])
    for strip in change_picture(comparison, before, before).run.strips:
        assert strip.pieces == strip.earlier


def test_differences_are_those_of_the_comparison(change):
    comparison = change[0]
    picture = change_picture(*change)
    rows = {(pair.after, row.key): row for pair in comparison.contrasts[0].phases for row in pair.rows}
    power = next(
        one for one in picture.differences if one.phase == "all cores" and one.words.startswith("package power")
    )
    row = rows["all cores", "package_power_w"]
    assert power.share[1] == pytest.approx((row.after - row.before) / row.before)
    assert power.share[0] < power.share[1] < power.share[2]
    assert {one.phase for one in picture.differences} == {"one core", "all cores"}


def test_the_answer_stands_on_the_file_and_first_on_the_page(change, tmp_path):
    sentence = cooling_sentence(change[0].contrasts[0], change[0].before)
    path = tmp_path / "change.svg"
    save_change(*change, path, Style())
    assert sentence in " ".join(element.text for element in ET.parse(path).iter() if element.tag.endswith("text"))
    page = render_comparison_page(change[0], change_picture(*change))
    html5lib.HTMLParser(strict=True).parse(page)
    assert page.index(sentence.partition("(")[0].strip()) < page.index("<table>")
    assert "src=" not in page and "href=" not in page and "<script" not in page


def test_a_change_needs_two_sessions(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = str(RECORDINGS / "box-as-bought.session.jsonl")
    assert main(["figure", path, "--kind", "change"]) == 2
    assert "shows 2 sessions, not 1" in capsys.readouterr().err
    assert main(["figure", path, path, "--kind", "card"]) == 2
    assert not list(tmp_path.iterdir())


def test_in_the_terminal_each_interval_lies_where_the_comparison_has_it(change):
    picture = change_picture(*change)
    for can_show_signs in (True, False):
        text = draw_change_in_terminal(picture, can_show_signs=can_show_signs)
        assert max(map(len, text.splitlines())) <= 80 and text.count("\n") <= 23
        assert can_show_signs or text.isascii()
    lines = [line for line in text.splitlines() if "=" in line and "o" in line[40:]]
    assert len(lines) == len([one for one in picture.differences if one.share is not None])
    for line, one in zip(lines, picture.differences, strict=True):
        bar = line[40:]
        if "|" in bar and abs(one.share[1]) > 0.02:
            assert (bar.index("o") > bar.index("|")) is (one.share[1] > 0)
        if one.share[0] > 0.02:
            assert bar.index("|") < bar.index("=")


def test_work_is_compared_in_the_unit_of_the_strips(change):
    picture = change_picture(*change)
    assert {strip.unit for strip in picture.run.strips if strip.colour == "work"} == {"GFlop/s"}
    assert all(one.words.endswith("GFlop/s") for one in picture.differences if one.words.startswith("built-in work"))
