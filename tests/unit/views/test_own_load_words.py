"""A person's own benchmark in words."""

from dataclasses import replace

from benchmon.model import keys
from benchmon.model.findings import CommandRun, Figure, Score
from benchmon.model.records import Setting
from benchmon.views.sheets import markdown, text
from benchmon.views.words.own_load import command_sentences, score_sentences, scores_in_short
from tests.support.summaries import full_summary

SUMMARY = full_summary()
NO = Figure(why_not="no power was read in this phase")


def with_scores(*scores):
    return replace(SUMMARY, phases=(replace(SUMMARY.phases[0], scores=scores),))


def test_per_watt_says_of_which_watts():
    wall = Score(1842.0, "render", Figure(34.22, 33.5, 34.9), "wall")
    assert score_sentences(with_scores(wall)) == ("idle: 1842 render, 34.2 ± 0.7 per watt at the wall.",)
    assert score_sentences(with_scores(Score(12.5, "s", NO))) == ("idle: 12.5 s.",)


def test_runs_of_one_benchmark_are_one_sentence_with_their_spread():
    scores = [Score(value, "pts", NO) for value in (1800.0, 1842.0, 1830.0)]
    assert score_sentences(with_scores(*scores)) == ("idle: 1824 pts, mean of 3 runs from 1800 to 1842.",)
    again = replace(SUMMARY.phases[0], name="idle (2)", scores=(Score(1900.0, "pts", NO),))
    twice = with_scores(*scores)
    twice = replace(twice, phases=(*twice.phases, again))
    assert score_sentences(twice) == ("idle: 1843 pts, mean of 4 runs from 1800 to 1900.",)
    assert scores_in_short(with_scores(*scores).phases[0]) == "1800 pts, 1842 pts, 1 more"


def test_the_command_stands_on_the_sheet_with_status_version_and_output():
    summary = replace(
        SUMMARY,
        commands=(CommandRun("./mybench -n 4", 60.0, 90.0, 0, "after 3 runs"), CommandRun("./x", 91.0, 95.0, None, "")),
        settings={
            keys.COMMAND_VERSION: Setting(0.0, keys.COMMAND_VERSION, "mybench 3.2", None, ""),
            keys.COMMAND_OUTPUT: Setting(0.0, keys.COMMAND_OUTPUT, "run.output.txt", None, ""),
        },
    )
    lines = command_sentences(summary)
    assert lines == (
        "./mybench -n 4: ended with status 0 (after 3 runs).",
        "./x: was ended.",
        "Its version: mybench 3.2.",
        "What it printed is in run.output.txt, beside the session.",
    )
    for render in (text.render, markdown.render):
        assert all(words in render(summary) for words in ("status 0", "mybench 3.2", "run.output.txt"))
