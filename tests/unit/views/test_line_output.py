"""The line output says what happens, once, in words."""

import io

from benchmon.model.events import Cause
from benchmon.model.records import (
    ChannelState,
    Gap,
    LoadAction,
    LoadChange,
    Mark,
    MarkKind,
    Sample,
    SessionEnd,
)
from benchmon.views.line_output import LineOutput
from tests.support.summaries import HEADER, HEAT


class ScriptedAnalyst:
    """Returns the events it was told to return, one list for each record."""

    forecast = None

    def progress(self):
        return None

    def __init__(self, *answers):
        self.answers = list(answers)

    def feed(self, record):
        return self.answers.pop(0) if self.answers else ()


def lines_of(records, analyst=None, **options):
    out = io.StringIO()
    output = LineOutput(out, analyst, **options)
    for record in records:
        output.accept(record)
    return out.getvalue().splitlines()


def test_one_line_a_second_with_units():
    samples = [Sample(i * 0.5, (3500.0, 52.44, 61.0)) for i in range(5)]
    lines = lines_of([HEADER, Mark(1, 0, 0, MarkKind.PHASE, "all cores"), *samples])
    assert lines[1] == "   0:00  all cores   clock 3.50 GHz  package 52.4 W  temp 61 °C"
    assert len(lines) == 1 + 3


def test_what_is_not_read_is_a_dash_and_never_a_zero():
    (line,) = lines_of([HEADER, Sample(0.0, (None, None, None))])
    assert line.split()[-6:] == ["clock", "–", "package", "–", "temp", "–"]


def test_everything_that_happens_is_a_sentence():
    lines = lines_of(
        [
            HEADER,
            LoadChange(1.0, LoadAction.STARTED, "widest arithmetic on all 6 cores", 6),
            ChannelState(2.0, "package_power_w", False, "permission denied"),
            ChannelState(3.0, "package_power_w", True),
            Gap(3.0, 7.25, "suspend"),
            Mark(2, 8.0, 8.0, MarkKind.WALL, value=53.8),
            Mark(3, 8.0, 9.0, MarkKind.WITHDRAW, replaces=2),
            SessionEnd(10.0, "told to"),
        ]
    )
    assert [line.split("  ", 2)[-1].strip() for line in lines] == [
        "Load started: widest arithmetic on all 6 cores.",
        "package power is not read: permission denied.",
        "package power is read again.",
        "No samples for 4.2 s from 0:03 (the machine slept).",
        "Wall reading 53.8 W.",
        "Entry 2 withdrawn.",
        "Recording ended: told to.",
    ]


def test_an_event_is_said_when_announced_when_revised_and_when_over_but_not_in_between():
    from dataclasses import replace

    opened = replace(HEAT, end_s=None, cause=Cause.UNEXPLAINED, causes={Cause.UNEXPLAINED: 1.0}, revision=0)
    revised = replace(HEAT, end_s=None)
    analyst = ScriptedAnalyst((), (opened,), (opened,), (revised,), (revised,), (HEAT,))
    samples = [Sample(i / 10, (2790.0, 38.9, 82.0)) for i in range(5)]
    said = [line for line in lines_of([HEADER, *samples], analyst) if "EVENT" in line]
    assert len(said) == 3
    assert "EVENT 1: Throttled at 82 °C, cause unknown, since 3:05: 3.50 → 2.73 GHz, 52.4 → 38.7 W." in said[0]
    assert "CAUSE CORRECTED" in said[1]
    assert "by heat" in said[1]
    assert "EVENT 1 OVER" in said[2]
    assert "from 3:05 to 8:00 (4:55)" in said[2]


def test_an_event_that_lasts_is_told_with_its_last_figures_when_the_recording_ends():
    from dataclasses import replace

    opened = replace(HEAT, end_s=None, clock_held_mhz=3000.0, sustained=None)
    last = replace(opened, clock_held_mhz=2790.0)
    analyst = ScriptedAnalyst((), (opened,), (last,))
    lines = lines_of([HEADER, Sample(200.0, (2790.0, 38.9, 82.0)), SessionEnd(485.0, "told to")], analyst)
    said = [line for line in lines if "TO THE END" in line]
    assert len(said) == 1
    assert (
        "EVENT 1, TO THE END: Was throttled by heat at 82 °C from 3:05 until the recording ended: 3.50 → 2.79 GHz"
        in said[0]
    )


def test_an_event_that_is_over_is_not_told_again_when_the_recording_ends():
    analyst = ScriptedAnalyst((), (HEAT,), ())
    lines = lines_of([HEADER, Sample(490.0, (2790.0, 38.9, 82.0)), SessionEnd(500.0, "told to")], analyst)
    assert sum("EVENT" in line for line in lines) == 1


def test_a_second_header_begins_anew():
    records = [HEADER, Mark(1, 0, 0, MarkKind.PHASE, "all cores"), Sample(100.0, (3500.0, 52.4, 61.0))]
    once = lines_of(records)
    assert lines_of([*records, *records]) == once * 2


def test_what_the_machine_does_not_offer_is_said_once():
    from dataclasses import replace

    bare = replace(HEADER, channels=HEADER.channels[:1])
    lines = lines_of([bare, Sample(0.0, (3500.0,)), Sample(1.0, (3500.0,))])
    assert lines[0] == "Not read here: package power, temperature (benchmon channels says why)."
    assert len(lines) == 3


def test_ascii_only():
    lines = lines_of([HEADER, Sample(0.0, (None, 34.8, 61.0))], ascii_only=True)
    assert all(line.isascii() for line in lines)


class ScriptedAside:
    """Says what it was told to say, one sentence for each time it is asked."""

    def __init__(self, *words):
        self.left = list(words)

    def take(self, record, events):
        pass

    def words(self):
        return self.left.pop(0) if len(self.left) > 1 else self.left[0]


def test_an_earlier_run_is_held_against_in_words_and_not_repeated_every_time():
    aside = ScriptedAside("Compared from 1:00 on.", "4 K cooler.", "5 K cooler.", "5 K cooler.")
    lines = lines_of([HEADER, *(Sample(float(t), (3500.0, 52.0, 61.0)) for t in range(400))], aside=aside)
    said = [" ".join(line.split()) for line in lines if "Compared" in line or "cooler" in line]
    assert said == ["0:00 Compared from 1:00 on.", "0:05 4 K cooler.", "5:05 5 K cooler."]
