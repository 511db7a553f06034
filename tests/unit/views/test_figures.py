"""Pictures: what stands in them is what was concluded; a dip of one sample shows; strangers' text stays text."""

import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from math import inf, nan
from pathlib import Path

import html5lib
import pytest

from benchmon.analysis.summary import summarise
from benchmon.errors import OutputError, UsageError
from benchmon.model.events import Cause
from benchmon.model.records import Gap, MarkKind, Sample
from benchmon.session.reader import read_session
from benchmon.views.figures.captions import captions
from benchmon.views.figures.colours import DARK, LIGHT
from benchmon.views.figures.files import saving as plots
from benchmon.views.figures.frames import Pace, save_frames
from benchmon.views.figures.in_terminal import draw_in_terminal
from benchmon.views.figures.making import GATHERERS, save_picture
from benchmon.views.figures.page import render_page
from benchmon.views.figures.rise_picture import rise_picture
from benchmon.views.figures.run_picture import STRIPS, run_picture, work_unit, zigzag
from benchmon.views.figures.run_svg import draw_run
from benchmon.views.figures.ticks import round_ticks, time_ticks
from benchmon.views.numbers import figure_text, plain
from benchmon.views.traces import Columns
from benchmon.views.tui.palette import DARK as SCREEN_DARK
from benchmon.views.tui.palette import LIGHT as SCREEN_LIGHT
from tests.support.bench_sessions import bench, mark, session

RECORDINGS = Path(__file__).parents[3] / "recordings"
EVIL = '</svg><script>alert(1)</script>" onload="x" --> {\\an8} =1+1 [a](http://b)'


def recorded(name):
    found = read_session(RECORDINGS / f"{name}.session.jsonl")
    return found, summarise(found, look_every_s=inf)


@pytest.mark.parametrize("name", ["box-as-bought", "gap", "nulls", "v1"])
@pytest.mark.parametrize("columns", [7, 400])
def test_a_trace_is_that_of_its_samples_one_by_one(name, columns):
    """Columns are filled many samples at once; held against the screen's way, which takes each by itself."""
    made, summary = recorded(name)
    step_s = max(summary.quality.duration_s / columns, made.header.period_s / 2)
    places = [channel.key for channel in made.header.channels]
    picture = run_picture(made, summary, columns)
    for strip in picture.strips:
        key, factor = next(
            (key, work_unit(made)[1] if key == "work_rate_per_s" else factor)
            for key, colour, _, _, factor in STRIPS
            if colour == strip.colour
        )
        track = Columns(step_s, 2.5 * made.header.period_s)
        for record in made.records:
            if isinstance(record, Sample):
                value = record.values[places.index(key)]
                track.add(record.t_s, nan if value is None else value)
            elif isinstance(record, Gap):
                track.add(record.start_s, nan)
        lows = [low for piece in strip.pieces for low in piece.lows]
        assert lows == pytest.approx([low * factor for low in track.lows])
        assert [high for piece in strip.pieces for high in piece.highs] == pytest.approx(
            [high * factor for high in track.highs]
        )
        assert len(strip.pieces) == len(track.joined) - sum(track.joined)


@pytest.fixture(scope="module")
def throttled():
    return recorded("box-as-bought")


def texts(svg):
    return [element.text or "" for element in ET.fromstring(svg).iter() if element.tag.endswith("text")]


def points_of(svg, kind):
    """Points of all lines of a class."""
    lines = [e for e in ET.fromstring(svg).iter() if e.tag.endswith("polyline") and e.get("class") == kind]
    return [tuple(map(float, pair.split(","))) for line in lines for pair in line.get("points").split()]


def test_what_the_run_shows_is_what_was_concluded(throttled):
    made, summary = throttled
    picture = run_picture(made, summary)
    heat = next(event for event in summary.events if event.cause is Cause.THERMAL)
    written = texts(draw_run(picture))
    assert [name for _, _, name in picture.phases] == [phase.name for phase in summary.phases]
    assert (picture.stretches[0].start_s, picture.stretches[0].end_s) == (heat.start_s, heat.end_s)
    assert f"defended {plain(heat.temp_plateau_c, 0)} °C" in written
    assert "reported limit 97 °C" in written and "throttled by heat" in written and "power limit 62 W" in written
    hottest = max(phase.means["processor_temp_c"].greatest for phase in summary.phases)
    assert picture.strips[0].high == pytest.approx(hottest)


def test_the_limit_lies_where_the_trace_reaches_it(throttled):
    """The dashed line of the defended temperature and the trace while it was defended are at the same height."""
    made, summary = throttled
    svg = draw_run(run_picture(made, summary))
    label = next(e for e in ET.fromstring(svg).iter() if (e.text or "").startswith("defended"))
    right = max(x for x, _ in points_of(svg, "trace temp"))
    held = [y for x, y in points_of(svg, "trace temp") if 0.5 * right < x < 0.8 * right]
    assert float(label.get("y")) + 3 == pytest.approx(sum(held) / len(held), abs=2.0)


@pytest.mark.parametrize("length_s", [300, 7200])
def test_a_dip_of_one_sample_is_never_lost(length_s):
    made = bench([("all cores", length_s, 15.0, 4)])
    at = len(made.records) // 2
    while not hasattr(made.records[at], "values"):
        at += 1
    place = [channel.key for channel in made.header.channels].index("package_power_w")
    values = list(made.records[at].values)
    values[place] = 2.0
    records = (*made.records[:at], replace(made.records[at], values=tuple(values)), *made.records[at + 1 :])
    made = replace(made, records=records)
    picture = run_picture(made, summarise(made, look_every_s=inf), columns=200)
    power = next(strip for strip in picture.strips if strip.colour == "power")
    assert power.low == 2.0
    lowest = max(y for _, y in points_of(draw_run(picture), "trace power"))
    usual = sorted(y for _, y in points_of(draw_run(picture), "trace power"))[10]
    assert lowest - usual > 20


def test_a_line_touches_least_and_greatest_of_every_column(throttled):
    made, summary = throttled
    for strip in run_picture(made, summary, columns=50).strips:
        for piece in strip.pieces:
            drawn = list(zigzag(piece))
            for t_s, low, high in zip(piece.times_s, piece.lows, piece.highs, strict=True):
                assert {low, high} == {value for at, value in drawn if at == t_s}


def test_rise_and_capacity_are_the_verdicts(throttled):
    made, summary = throttled
    picture = rise_picture(made, summary)
    assert picture.capacity == summary.thermal.capacity.measured_w
    assert picture.limits[0][0] == summary.thermal.limit_c.value - summary.thermal.room_c.value
    held = next(phase for phase in summary.phases if phase.sustained is not None)
    point = next(point for point in picture.points if point.name == f"{held.name}, sustained")
    assert point.power_w == held.sustained.power_w
    line = summary.thermal.line
    assert all(
        low <= rise <= high for low, rise, high in zip(picture.lows_k, picture.rises_k, picture.highs_k, strict=True)
    )
    if line is None:
        slope = picture.rises_k[-1] / picture.powers_w[-1]
        assert slope == pytest.approx(summary.thermal.resistance_k_per_w.value)


def test_the_band_of_a_line_is_the_law_of_propagation():
    """JCGM 100:2008 (GUM) 5.2.2, equation 13, with the correlated a and b of its example H.3; quantile as the line's."""
    from benchmon.analysis.fit.quantiles import student_t
    from benchmon.model.findings import Figure, ThermalLine
    from benchmon.views.figures.rise_picture import line_at

    quantile = student_t(0.975, 9)
    u_a, u_b, covariance = 0.0029, 0.00067, -0.930 * 0.0029 * 0.00067
    slope = Figure(0.00218, 0.00218 - quantile * u_b, 0.00218 + quantile * u_b)
    intercept = Figure(-0.1712, -0.1712 - quantile * u_a, -0.1712 + quantile * u_a)
    line = ThermalLine(slope, intercept, covariance, 9, ("a", "b"))
    rise, low, high = line_at(10.0, line, slope)
    assert rise == pytest.approx(-0.1494, abs=5e-5)
    # H.3.4: at t = 30 °C (10 above the reference) the correction is −0.1494 °C, u = 0.0041 °C.
    assert (high - low) / 2 / quantile == pytest.approx(0.0041, abs=1e-4)


def test_the_card_says_the_verdicts_figures(throttled):
    made, summary = throttled
    made_card = GATHERERS["card"](made, summary)
    assert made_card.capacity == figure_text(summary.thermal.capacity.measured_w, "W")
    lines = dict(made_card.lines)
    assert lines["throttling"] == "throttled by heat" and "97 °C" in lines["defended temperature"]


class Outside(HTMLParser):
    """Collects whatever a page would load or run."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attrs):
        if tag in {"script", "link", "img", "iframe", "object", "embed", "base", "form"}:
            self.found.append(tag)
        self.found += [f"{name}={value}" for name, value in attrs if name in {"src", "href"} or name.startswith("on")]


def test_the_page_is_valid_and_loads_nothing(throttled):
    """Held against html5lib's strict parser, which follows the parse errors of the HTML standard (whatwg.org)."""
    page = render_page(*throttled)
    html5lib.HTMLParser(strict=True).parse(page)
    outside = Outside()
    outside.feed(page)
    assert outside.found == []
    assert not re.search(r"url\((?!#tex-)", page) and "@import" not in page
    assert page.count('scope="col"') > 8 and 'role="img"' in page and page.count("<h2>") >= 6
    assert 'lang="en"' in page and "width=device-width" in page


def test_the_page_says_the_verdict_first(throttled):
    made, summary = throttled
    page = render_page(made, summary)
    assert page.index("Thermal verdict") < page.index("The run") < page.index("Phases") < page.index("Throttle events")
    assert figure_text(summary.thermal.capacity.measured_w, "W") in page


def strangers():
    marks = [
        mark(71, 5.0, MarkKind.NOTE, EVIL),
        mark(72, 6.0, MarkKind.PHASE, EVIL),
        mark(73, 7.0, MarkKind.TAG, f"a={EVIL}"),
    ]
    made = bench([("all cores", 300, 15.0, 4)], extra=marks)
    return made, summarise(made, look_every_s=inf)


def test_strangers_text_stays_text():
    made, summary = strangers()
    page = render_page(made, summary)
    html5lib.HTMLParser(strict=True).parse(page)
    outside = Outside()
    outside.feed(page)
    assert outside.found == [] and "alert(1)" in page
    said = captions(run_picture(made, summary), summary, 10.0)
    times = [line for line in said.splitlines() if "-->" in line]
    assert all(re.fullmatch(r"\d\d:\d\d:\d\d,\d{3} --> \d\d:\d\d:\d\d,\d{3}", line) for line in times)
    assert "<" not in said and "{" not in said


@pytest.mark.parametrize("kind", list(GATHERERS))
def test_strangers_text_stays_text_in_files(kind, tmp_path):
    made, summary = strangers()
    path = tmp_path / f"{kind}.svg"
    save_picture(kind, made, summary, path, plots.Style())
    found = ET.parse(path)
    assert not [e for e in found.iter() if e.tag.endswith("script")]


@pytest.mark.parametrize(
    ("kind", "size"), [("run", "1920x1080"), ("rise", "1080x1080"), ("power", "1080x1080"), ("card", "1920x1080")]
)
def test_files_have_the_size_asked_for(throttled, kind, size, tmp_path):
    from PIL import Image

    path = tmp_path / "x.png"
    save_picture(kind, *throttled, path, plots.Style(size, is_transparent=size == "1080x1080"))
    image = Image.open(path)
    assert f"{image.width}x{image.height}" == size
    corner = image.convert("RGBA").getpixel((2, 2))
    assert (corner[3] == 0) is (size == "1080x1080")
    assert len(image.convert("RGBA").getcolors(1 << 24)) > 20  # something was drawn
    with pytest.raises(OutputError, match="exists already"):
        save_picture(kind, *throttled, path, plots.Style(size))


def test_labels_and_uncertainty_stand_in_the_file(throttled, tmp_path):
    path = tmp_path / "rise.svg"
    save_picture("rise", *throttled, path, plots.Style())
    written = " ".join(texts(path.read_text(encoding="utf-8")))
    _, summary = throttled
    assert figure_text(summary.thermal.capacity.measured_w, "W") in written
    assert figure_text(summary.thermal.resistance_k_per_w, "K/W") in written
    assert "Room 19 ± 1 °C" in written and "widest arithmetic" in written


@pytest.mark.parametrize("name", ["minimal", "nulls", "gap", "cut-last-line", "v1"])
def test_any_recording_gives_a_picture_or_a_sentence(name, tmp_path):
    made, summary = recorded(name)
    for kind in GATHERERS:
        path = tmp_path / f"{kind}.svg"
        try:
            save_picture(kind, made, summary, path, plots.Style())
        except UsageError as error:
            assert len(error.message) > 20
        else:
            ET.parse(path)
    html5lib.HTMLParser(strict=True).parse(render_page(made, summary))
    assert draw_in_terminal(made, summary).strip()


def test_without_anything_there_is_a_sentence(tmp_path):
    made = session([])
    summary = summarise(made, look_every_s=inf)
    for kind in ("run", "rise", "power"):
        with pytest.raises(UsageError, match="nothing to draw|no rise to draw"):
            save_picture(kind, made, summary, tmp_path / "x.svg", plots.Style())


def test_in_the_terminal_it_fits_and_says_the_same(throttled):
    made, summary = throttled
    for can_show_signs in (True, False):
        text = draw_in_terminal(made, summary, can_show_signs=can_show_signs)
        assert max(map(len, text.splitlines())) <= 80
        assert can_show_signs or text.isascii()
        assert "measured" in text and "one core" in text and "82" in text


def test_frames_uncover_the_run_from_left_to_right(throttled, tmp_path):
    from PIL import Image

    made, summary = throttled
    pace = Pace(plots.Style("1080x1080"), speed=200.0, per_s=1)
    count = save_frames(run_picture(made, summary, 400), tmp_path / "f", pace, lambda _done, _all: None)
    files = sorted((tmp_path / "f").iterdir())
    assert len(files) == count == int(840 / 200) + 2
    inks = [sum(Image.open(file).getchannel("A").histogram()[1:]) for file in files]
    assert inks == sorted(inks) and inks[-1] > inks[0]
    with pytest.raises(UsageError, match="more than"):
        save_frames(run_picture(made, summary, 400), tmp_path / "g", replace(pace, speed=0.001), print)


def test_captions_come_in_order_and_do_not_overlap(throttled):
    """SubRip has no standard; common practice: number, two times with an arrow, text, a blank line."""
    made, summary = throttled
    said = captions(run_picture(made, summary), summary, 60.0)
    blocks = [block.splitlines() for block in said.strip().split("\n\n")]
    assert [int(block[0]) for block in blocks] == list(range(1, len(blocks) + 1))

    def seconds(text):
        hours, minutes, rest = text.split(":")
        return int(hours) * 3600 + int(minutes) * 60 + float(rest.replace(",", "."))

    spans = [tuple(map(seconds, block[1].split(" --> "))) for block in blocks]
    assert all(begin < end for begin, end in spans)
    assert all(spans[i][1] <= spans[i + 1][0] + 1e-9 for i in range(len(spans) - 1))
    heat = next(event for event in summary.events if event.cause is Cause.THERMAL)
    at = next(span for span, block in zip(spans, blocks, strict=True) if block[2].endswith("throttled by heat"))
    assert at[0] == pytest.approx(heat.start_s / 60, abs=0.01)


def test_ticks_are_round_even_and_hold_all():
    for low, high in ((28.0, 81.0), (0.0, 0.3), (-12.0, 5.0), (1100.0, 4200.0), (5.0, 5.0), (0.0, 0.0)):
        ticks = round_ticks(low, high)
        steps = [b - a for a, b in zip(ticks, ticks[1:], strict=False)]
        assert ticks[0] <= low + 1e-9 and ticks[-1] >= high - 1e-9 and max(steps) == pytest.approx(min(steps))
        assert f"{steps[0]:e}"[0] in "125"
    for until_s in (3.0, 840.0, 86_400.0, 5e6):
        assert 2 <= len(time_ticks(until_s)) <= 10


def rgb(number):
    """xterm's 256 colours: a cube of 6 × 6 × 6 from 16 on (levels 0, 95, 135 … 255). Common practice, no standard."""
    levels = (0, 95, 135, 175, 215, 255)
    number -= 16
    return levels[number // 36], levels[number // 6 % 6], levels[number % 6]


@pytest.mark.parametrize(("look", "screen"), [(DARK, SCREEN_DARK), (LIGHT, SCREEN_LIGHT)])
def test_colours_are_the_screens(look, screen):
    for name, colour in screen.items():
        mine = tuple(int(look.lines[name][i : i + 2], 16) for i in (1, 3, 5))
        far = max(abs(a - b) for a, b in zip(mine, rgb(int(re.search(r"\d+", colour)[0])), strict=True))
        assert far <= 60, name  # the screen's are the nearest of 256 that are dark enough to read


def test_nothing_of_the_present_folder_decides_what_is_drawn(tmp_path):
    """A stranger's matplotlibrc would have had LaTeX run on a session's texts; a pipe of that name would have held it up."""
    (tmp_path / "matplotlibrc").write_text("text.usetex: True\nlines.linewidth: 9\n\x1b[2J: 1\n")
    code = "import sys; from benchmon.cli.main import main; sys.exit(main(sys.argv[1:]))"
    recorded = str(RECORDINGS / "minimal.session.jsonl")
    words = [sys.executable, "-P", "-c", code, "figure", recorded, "--output", "f.svg", "--format", "svg"]
    environment = {**os.environ, "PYTHONPATH": str(RECORDINGS.parent)}
    done = subprocess.run(words, cwd=tmp_path, capture_output=True, env=environment)
    assert (done.returncode, done.stderr) == (0, b"")
    assert "stroke-width: 9" not in (tmp_path / "f.svg").read_text()


def test_the_pictures_in_the_docs_are_of_the_recording(throttled):
    """Drawn anew by ``python -m tests.support.draw_figures``: card, rise and sheet must tell this run's watts."""
    _, summary = throttled
    pictures = RECORDINGS.parent / "docs" / "pictures"
    watts = figure_text(summary.thermal.capacity.measured_w, "W")
    for name in ("figure-card.svg", "figure-card-dark.svg", "figure-rise.svg", "figure-rise-dark.svg"):
        assert watts in " ".join(texts((pictures / name).read_text(encoding="utf-8"))), name
    assert watts in (pictures / "figure-sheet.txt").read_text(encoding="utf-8")
