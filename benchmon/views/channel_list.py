"""What can be read on this machine, as text of 80 columns or as JSON."""

from __future__ import annotations

from textwrap import wrap

from benchmon.model.survey import ChannelSurvey, ClosedSource, Survey
from benchmon.views.doors import json_text, terminal
from benchmon.views.numbers import plain, quantity

_WIDTH = 80


def as_text(survey: Survey) -> str:
    """Readings with source, step, freshness and cost; then settings; then what is closed, and what would open it."""
    lines = ["What can be read here", "---------------------"]
    for row in survey.channels:
        lines += _channel(row)
    if not survey.channels:
        lines.append("Nothing.")
    lines += ["", *_paragraph(f"Processor temperature: {survey.chosen_temp}")]
    if survey.settings:
        lines += ["", "What the machine says about itself", "----------------------------------"]
        lines += [f"{key:<22} {value:<14} {source}" for key, (value, source) in survey.settings.items()]
    lines += ["", "What cannot be read", "-------------------"]
    for closed in survey.closed:
        lines += _closed(closed)
    if not survey.closed:
        lines.append("Nothing is missing that benchmon knows of.")
    cost = plain(survey.round_cost_us / 1000, 2)
    lines += ["", f"One round of reading everything takes {cost} ms (median over {plain(survey.tried_s, 1)} s)."]
    return terminal("\n".join(line.rstrip() for line in lines)) + "\n"


def as_json(survey: Survey) -> str:
    """The same for programs; null = not read."""
    document = {
        "channels": [
            {
                "key": row.channel.key,
                "label": row.channel.label,
                "unit": row.channel.unit.value,
                "source": row.channel.source,
                "resolution": row.channel.resolution,
                "value": row.value,
                "why_not": row.why_not or None,
                "changed_every_s": row.changed_every_s,
                "sensor": row.sensor,
                "sensor_read_cost_us": round(row.read_cost_us, 1),
            }
            for row in survey.channels
        ],
        "settings": {key: {"value": value, "source": source} for key, (value, source) in survey.settings.items()},
        "processor_temperature": survey.chosen_temp,
        "closed": [{"what": c.what, "path": c.path, "why": c.why, "remedy": c.remedy} for c in survey.closed],
        "round_cost_us": round(survey.round_cost_us, 1),
        "tried_s": survey.tried_s,
    }
    return json_text(document, indent=2) + "\n"


def _channel(row: ChannelSurvey) -> list[str]:
    channel = row.channel
    value = f"not read: {row.why_not}" if row.why_not else quantity(row.value, channel.unit, channel.resolution)
    step = "" if channel.resolution is None else f", in steps of {channel.resolution:g} {channel.unit.symbol}".rstrip()
    if row.value is None:
        fresh = ""
    elif row.changed_every_s is None:
        fresh = ", did not change while tried"
    else:
        fresh = f", new about every {plain(row.changed_every_s, 2)} s"
    cost = f"; {plain(row.read_cost_us, 0)} µs with all that is read along with it"
    head = f"{channel.key:<26} {value}"
    return [*_paragraph(head, 27), *_paragraph(f"    {channel.label}: {channel.source}{step}{fresh}{cost}", 6)]


def _closed(closed: ClosedSource) -> list[str]:
    where = f" ({closed.path})" if closed.path else ""
    lines = _paragraph(f"{closed.what}{where}: {closed.why}", 2)
    for i, line in enumerate(closed.remedy.splitlines()):
        # A rule to copy stays on one line of its own; prose is wrapped.
        lines += [f"    {line}"] if line.startswith(" ") else _paragraph(f"  {'→ ' if i == 0 else '  '}{line}", 4)
    return lines


def _paragraph(text: str, indent: int = 0) -> list[str]:
    return wrap(text, _WIDTH, subsequent_indent=" " * indent, break_on_hyphens=False, break_long_words=False) or [""]
