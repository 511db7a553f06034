"""Sessions with hundreds of loads: what is the same of many is told once."""

from types import SimpleNamespace

from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.plan_findings import Experiment, Onset
from benchmon.views.words.caveats import settling_not_told
from benchmon.views.words.experiment import experiment_sentences


def phase(name):
    settling = SimpleNamespace(settled=None, why="too short")
    return SimpleNamespace(name=name, end_s=9.0, sustained=None, settling={keys.PROCESSOR_TEMP: settling})


def test_phases_of_one_name_are_named_once_and_no_more_than_can_be_read():
    few = SimpleNamespace(phases=[phase("idle"), phase("one core"), phase("idle")])
    assert settling_not_told(few) == ["Settled \u2013 in idle (2 times), one core: too short."]
    many = SimpleNamespace(phases=[phase(f"run {number}") for number in range(1, 41)])
    (line,) = settling_not_told(many)
    assert line.endswith(", run 12, and 28 more: too short.")


def test_many_onsets_are_summed_up_after_the_first():
    onsets = tuple(Onset(100.0 * n, 100.0 * n + 60.0, n, 40.0, 80.0 + n / 10, 3000.0) for n in range(31))
    causes = {Cause.THERMAL: 0.99, Cause.POWER_LIMIT: 0.0, Cause.OUTSIDE: 0.01}
    (sentence,) = experiment_sentences(Experiment(Cause.THERMAL, causes, onsets, 3.0))
    assert sentence.count("after 1:00") == 8
    assert ", then in 23 more loads between 80.8 °C and 83.0 °C: " in sentence
    unheld = tuple(Onset(9000.0 + n, None, None, 40.0, 70.0, None) for n in range(3))
    (sentence,) = experiment_sentences(Experiment(Cause.THERMAL, causes, (*onsets, *unheld), 3.0))
    assert "in 23 more loads between 80.8 °C and 83.0 °C, then not at all in 3: " in sentence
    (short,) = experiment_sentences(Experiment(Cause.THERMAL, causes, onsets[:8], 3.0))
    assert "more loads" not in short
