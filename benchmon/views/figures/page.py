"""The page: one HTML file with everything in it, no script, nothing loaded from elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from benchmon import __version__
from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded
from benchmon.views.doors import markup
from benchmon.views.figures.page_style import style
from benchmon.views.figures.rise_picture import rise_picture
from benchmon.views.figures.rise_svg import draw_rise
from benchmon.views.figures.run_picture import run_picture
from benchmon.views.figures.run_svg import draw_run
from benchmon.views.sheets.content import Sheet, make_sheet
from benchmon.views.sheets.phase_table import Table

_COLUMNS = 900


def render_page(session: Recorded, summary: Summary) -> str:
    """The page of one session.

    Args:
        session: its samples, for the traces.
        summary: what was concluded from it.
    """
    sheet = make_sheet(summary)
    return whole_page(sheet.title, [*_verdict(sheet), *_facts(sheet), *_pictures(session, summary), *_rest(sheet)])


def whole_page(title: str, parts: Iterable[str]) -> str:
    """Head, style and foot around the parts of a page."""
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="color-scheme" content="light dark">',
            f"<title>{markup(title)}</title>",
            f"<style>{style()}</style>",
            "</head>",
            "<body>",
            "<main>",
            f"<h1>{markup(title)}</h1>",
            *parts,
            "</main>",
            f"<footer><p>Intervals are 95 %. Made with benchmon {markup(__version__)}.</p></footer>",
            "</body>",
            "</html>",
            "",
        ]
    )


def _verdict(sheet: Sheet) -> list[str]:
    lines = [f"<p>{markup(sentence)}</p>" for sentence in sheet.verdict]
    return ['<section class="verdict">', "<h2>Thermal verdict</h2>", *lines, "</section>"]


def _facts(sheet: Sheet) -> list[str]:
    return ["<section>", "<h2>Machine and recording</h2>", *fact_list(sheet.facts), "</section>"]


def _pictures(session: Recorded, summary: Summary) -> list[str]:
    run = run_picture(session, summary, _COLUMNS)
    parts = ["<section>", "<h2>The run</h2>"]
    if not run.why_not:
        foot = ". ".join(run.footing)
        parts.append(f"<figure>{draw_run(run)}<figcaption>{markup(foot)}.</figcaption></figure>")
    else:
        parts.append(f"<p>{markup(run.why_not)}</p>")
    rise = rise_picture(session, summary)
    parts += ["</section>", "<section>", "<h2>Rise over power</h2>"]
    if rise.why_not:
        parts.append(f"<p>{markup(rise.why_not)}</p>")
    else:
        caption = (
            "Filled points had settled, or stood steady at a limit."
            " The shaded band is the 95 % interval of the cooler's line."
        )
        parts.append(f"<figure>{draw_rise(rise)}<figcaption>{caption}</figcaption></figure>")
    return [*parts, "</section>"]


def _rest(sheet: Sheet) -> list[str]:
    parts = ["<section>", "<h2>Phases</h2>", *table_lines(sheet.phases)]
    if sheet.phases_note:
        parts.append(f"<p>{markup(sheet.phases_note)}</p>")
    if len(sheet.more.columns) > 1:
        parts += table_lines(sheet.more)
    parts += ["</section>", "<section>", "<h2>Throttle events</h2>"]
    if not sheet.events:
        parts.append(f"<p>{markup(sheet.no_events)}</p>")
    for sentence, details in sheet.events:
        parts += [f"<p>{markup(sentence)}</p>", *sentence_list(details)]
    parts.append("</section>")
    for heading, lines in (("Entered", sheet.entries), ("Caveats", sheet.doubts)):
        if lines:
            parts += ["<section>", f"<h2>{heading}</h2>", *sentence_list(lines), "</section>"]
    return parts


def fact_list(facts: Iterable[tuple[str, str]]) -> list[str]:
    """Labels and what belongs to them."""
    return ["<dl>", *(f"<dt>{markup(label)}</dt><dd>{markup(text)}</dd>" for label, text in facts), "</dl>"]


def sentence_list(lines: Iterable[str]) -> list[str]:
    """Sentences one under the other; nothing where there are none."""
    items = [f"<li>{markup(line)}</li>" for line in lines]
    return ["<ul>", *items, "</ul>"] if items else []


def table_lines(table: Table) -> list[str]:
    """A table that can be scrolled sideways where it is too wide."""
    if not table.rows:
        return ["<p>No phase was recorded.</p>"]
    heads = "".join(
        f'<th scope="col">{markup(name)}{f"<small>{markup(unit)}</small>" if unit else ""}</th>'
        for name, unit in table.headings()
    )
    return [
        '<div class="wide" tabindex="0"><table>',
        f"<thead><tr>{heads}</tr></thead>",
        "<tbody>",
        *(_row(row) for row in table.rows),
        "</tbody></table></div>",
    ]


def _row(row: Sequence[str]) -> str:
    """A line of a table; one that belongs to the phase above it is set in."""
    part = ' class="part"' if row[0].startswith(" ") else ""
    cells = "".join(f"<td>{markup(cell)}</td>" for cell in row[1:])
    return f'<tr><th scope="row"{part}>{markup(row[0].strip())}</th>{cells}</tr>'
