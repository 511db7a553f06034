"""Sessions that lack something, or have very much or very little: each kind of picture and the page, or a sentence."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from io import BytesIO
from math import inf
from pathlib import Path

import html5lib
import pytest

from benchmon.analysis.summary import summarise
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import Mark, MarkKind, Sample
from benchmon.model.units import Unit
from benchmon.session.reader import read_session
from benchmon.views.figures.captions import captions
from benchmon.views.figures.files.saving import Style, write
from benchmon.views.figures.in_terminal import draw_in_terminal
from benchmon.views.figures.making import GATHERERS
from benchmon.views.figures.page import render_page
from benchmon.views.figures.run_picture import run_picture
from tests.support.bench_sessions import bench, session

RECORDINGS = Path(__file__).parents[3] / "recordings"


def recorded():
    return read_session(RECORDINGS / "box-as-bought.session.jsonl")


def without(made, *dropped):
    """The same session as if these had never been read."""
    places = [place for place, channel in enumerate(made.header.channels) if channel.key not in dropped]
    header = replace(made.header, channels=tuple(made.header.channels[place] for place in places))
    records = tuple(
        replace(r, values=tuple(r.values[place] for place in places)) if isinstance(r, Sample) else r
        for r in made.records
    )
    return replace(made, header=header, records=records)


def with_channels(made, count):
    more = tuple(Channel(f"core_{i}_temp_c", f"core {i}", Unit.CELSIUS, "test", 1.0) for i in range(count))
    header = replace(made.header, channels=(*made.header.channels, *more))
    records = tuple(
        replace(r, values=(*r.values, *(50.0 + i for i in range(count)))) if isinstance(r, Sample) else r
        for r in made.records
    )
    return replace(made, header=header, records=records)


def without_phases(made):
    return replace(
        made, records=tuple(r for r in made.records if not (isinstance(r, Mark) and r.kind is MarkKind.PHASE))
    )


CASES = {
    "no power": (lambda: without(recorded(), keys.PACKAGE_POWER), {"rise"}),
    "no temperature": (lambda: without(recorded(), keys.PROCESSOR_TEMP), {"rise"}),
    "no phases": (lambda: without_phases(recorded()), set()),
    "40 channels": (lambda: with_channels(recorded(), 40), set()),
    "5 seconds": (lambda: bench([("all cores", 5, 30.0, 6)], cores=6), set()),
    "one sample": (lambda: bench([("all cores", 1, 30.0, 6)], cores=6), set()),
    "nothing": (lambda: session([]), {"run", "rise", "power"}),
}


@pytest.mark.parametrize("name", CASES)
def test_every_kind_gives_a_picture_or_a_sentence(name):
    make, sentences = CASES[name]
    made = make()
    summary = summarise(made, look_every_s=inf)
    said = {}
    for kind, gather in GATHERERS.items():
        picture = gather(made, summary)
        if picture.why_not:
            said[kind] = picture.why_not
        elif name not in {"40 channels"}:  # drawn like the recording itself
            drawn = BytesIO()
            write(picture, drawn, "svg", Style())
            words = [e.text or "" for e in ET.fromstring(drawn.getvalue()).iter() if e.tag.endswith("text")]
            assert not [word for word in words if re.search(r"\bnan\b|\binf\b|\de[+−-]?\d|None", word)]
    assert set(said) >= sentences
    assert all(len(sentence) > 30 and sentence.endswith((".", "--room")) for sentence in said.values())
    page = render_page(made, summary)
    html5lib.HTMLParser(strict=True).parse(page)
    for kind in {"run", "rise"} & set(said):
        assert f"<p>{said[kind]}</p>" in page
    assert draw_in_terminal(made, summary).strip()
    assert captions(run_picture(made, summary), summary, 60.0) is not None


def test_forty_channels_draw_what_matters():
    made = with_channels(recorded(), 40)
    strips = run_picture(made, summarise(made, look_every_s=inf)).strips
    assert [strip.label for strip in strips] == ["Processor temperature", "Package power", "Clock", "Work rate"]


def test_the_terminal_picture_stays_on_a_screen_of_24_rows():
    for name in ("box-as-bought", "box-with-duct", "v1"):
        made = read_session(RECORDINGS / f"{name}.session.jsonl")
        text = draw_in_terminal(made, summarise(made, look_every_s=inf))
        assert text.count("\n") <= 23, name
        assert max(map(len, text.splitlines())) <= 80
