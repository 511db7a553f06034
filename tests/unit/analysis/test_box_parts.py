"""The box in a summary and on the sheets."""

from dataclasses import replace

from benchmon.analysis.summary import summarise
from benchmon.model.records import MarkKind, Session, Setting
from benchmon.views.sheets import document_json, markdown, table_csv, text
from tests.support.bench_sessions import mark, sample, session
from tests.support.summaries import full_summary


def test_what_was_entered_later_comes_before_what_was_read_and_is_no_tag():
    read = Setting(0.0, "box_drive", "512 GB", None, "/sys/block")
    kept = Setting(0.0, "box_cooler", "old", None, "entered once, kept for this machine")
    marks = [mark(1, 2.0, MarkKind.TAG, "box.cooler=92 mm tower"), mark(2, 2.0, MarkKind.TAG, "lid=off")]
    made: Session = session([read, kept, *(sample(t) for t in range(5)), *marks])
    found = summarise(made)
    assert {part: one.text for part, one in found.box.items()} == {"drive": "512 GB", "cooler": "92 mm tower"}
    assert found.box["cooler"].source == "entered"
    assert dict(found.tags) == {"lid": "off"}


def test_the_sheet_asks_at_its_end_for_what_is_missing_and_not_for_a_machine_that_does_not_exist():
    summary = full_summary()
    asked = text.render(summary).split("Caveats")[1]
    assert "Not known of this box: memory modules, drive, cooler" in " ".join(asked.split())
    virtual = replace(summary, header=replace(summary.header, virtual="Saltmarsh Six"))
    assert "Not known of this box" not in text.render(virtual)


def test_the_box_is_in_every_format():
    made = session([Setting(0.0, "box_cooler", "=92 mm|tower", None, "entered"), *(sample(t) for t in range(5))])
    summary = summarise(made)
    assert "Cooler: =92 mm|tower (entered)." in text.render(summary)
    assert "92 mm" in markdown.render(summary)
    assert document_json.document(summary)["box"]["cooler"] == {"text": "=92 mm|tower", "source": "entered"}
    assert document_json.document(summary)["box"]["fans"] is None
    head, first, *_ = table_csv.render(summary).splitlines()
    cell = first.split(",")[head.split(",").index("box_cooler")]
    assert cell.endswith("=92 mm|tower")
    assert not cell.startswith("="), "a table program must not take it for a formula"
