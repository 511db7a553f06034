"""Tables for other engines, read back by those engines: pyarrow and an SQL engine are the references."""

import csv
import json
import os
import shutil
import sys
from pathlib import Path

import pytest

from benchmon.cli.main import main
from benchmon.errors import ExitCode
from benchmon.library import export
from benchmon.library.tables import EVENTS, PHASES, SESSIONS, event_rows, phase_rows, session_row
from benchmon.model.records import Sample
from benchmon.session.reader import read_session
from benchmon.views.sheets import document_json
from tests.support.conclusions import concluded

RECORDED = Path(__file__).parents[3] / "recordings"
NAMES = ("box-as-bought", "nulls", "v1")


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Both formats of three sessions, and what they hold."""
    folder = tmp_path_factory.mktemp("tables")
    paths = [str(shutil.copy(RECORDED / f"{name}.session.jsonl", folder)) for name in NAMES]
    assert main(["export", *paths, "--to", "parquet", str(folder / "parquet")]) == ExitCode.OK
    assert main(["export", *paths, "--to", "csv", str(folder / "csv")]) == ExitCode.OK
    sessions = {name: read_session(Path(path)) for name, path in zip(NAMES, paths, strict=True)}
    return folder, sessions, {name: concluded(session) for name, session in sessions.items()}


def expected(written, table):
    _, _, summaries = written
    rows = {
        "sessions": lambda name: [session_row(name, summaries[name])],
        "phases": lambda name: phase_rows(name, summaries[name].phases),
        "events": lambda name: event_rows(name, summaries[name].events),
    }[table.name]
    return sorted((row for name in NAMES for row in rows(name)), key=lambda row: row[:2])


@pytest.mark.parametrize("table", (SESSIONS, PHASES, EVENTS), ids=lambda table: table.name)
def test_pyarrow_reads_every_cell_back(written, table):
    dataset = pytest.importorskip("pyarrow.dataset")
    read = dataset.dataset(written[0] / "parquet" / table.name, partitioning="hive").to_table()
    columns = [column.name for column in table.columns]
    found = [tuple(row[name] for name in columns) for row in read.to_pylist()]
    if table is SESSIONS:
        found = [tuple(dict(cell) if isinstance(cell, list) else cell for cell in row) for row in found]
    assert sorted(found, key=lambda row: row[:2]) == expected(written, table)
    assert expected(written, table)


@pytest.mark.parametrize("table", (PHASES, EVENTS), ids=lambda table: table.name)
def test_an_sql_engine_reads_every_cell_back(written, table):
    duckdb = pytest.importorskip("duckdb")
    columns = ", ".join(f'"{column.name}"' for column in table.columns)
    for form, reader in (("parquet", "read_parquet"), ("csv", "read_csv")):
        files = f"{written[0]}/{form}/{table.name}/*/*/*.{form}"
        extra = ", hive_partitioning=false, auto_type_candidates=['BIGINT','DOUBLE','VARCHAR']" if form == "csv" else ""
        question = f"SELECT {columns} FROM {reader}('{files}', union_by_name=true{extra}) ORDER BY session, number"
        assert duckdb.connect().execute(question).fetchall() == expected(written, table)


def test_an_event_is_exported_with_what_the_sheet_says_it_sustained(written):
    _, _, summaries = written
    names = [column.name for column in EVENTS.columns]
    told = json.loads(document_json.render(summaries["box-as-bought"]))["events"]
    rows = [dict(zip(names, row, strict=True)) for row in event_rows("x", summaries["box-as-bought"].events)]
    for event, row in zip(told, rows, strict=True):
        sustained = event["sustained"]
        assert row["sustained_clock_mhz"] == pytest.approx(sustained["clock_mhz"], abs=0.01)
        assert row["sustained_power_w"] == pytest.approx(sustained["power_w"], abs=0.01)
    events = summaries["box-as-bought"].events
    assert any(event.power_held_w > row["sustained_power_w"] + 0.5 for event, row in zip(events, rows, strict=True))


def test_samples_come_back_cell_for_cell_nulls_too(written):
    duckdb = pytest.importorskip("duckdb")
    folder, sessions, _ = written
    for name, session in sessions.items():
        keys = ", ".join(f'"{channel.key}"' for channel in session.header.channels)
        files = f"{folder}/parquet/samples/*/*/*.parquet"
        question = f"SELECT t_s, {keys} FROM read_parquet('{files}', union_by_name=true) WHERE session = ? ORDER BY t_s"
        rows = duckdb.connect().execute(question, [name]).fetchall()
        samples = [record for record in session.records if isinstance(record, Sample)]
        assert rows == [(sample.t_s, *sample.values) for sample in samples]
    assert any(None in record.values for record in sessions["nulls"].records if isinstance(record, Sample))


def test_units_and_meanings_are_in_the_schema(written):
    parquet = pytest.importorskip("pyarrow.parquet")
    (path,) = (written[0] / "parquet" / "samples").glob("*Saltmarsh*/*/*.parquet")
    schema = parquet.read_schema(path)
    assert schema.field("clock_mhz").metadata[b"unit"] == b"MHz"
    assert schema.field("processor_temp_c").metadata[b"unit"] == b"degC"
    assert all(field.metadata[b"meaning"] for field in schema)
    with (written[0] / "csv" / "samples-columns.csv").open() as file:
        described = {row["column"]: row["unit"] for row in csv.DictReader(file)}
    assert described["clock_mhz"] == "MHz" and described["t_s"] == "s"


def test_machine_and_day_are_partitions(written):
    found = {path.parent.relative_to(written[0] / "csv").as_posix() for path in (written[0] / "csv").rglob("part.csv")}
    assert "phases/machine=Saltmarsh Six/day=2026-11-25" in found
    assert "samples/machine=unknown/day=2026-11-25" in found


def test_strangers_text_is_no_formula_and_no_path(tmp_path, capsys):
    text = (RECORDED / "v1.session.jsonl").read_text()
    path = tmp_path / "a.session.jsonl"
    path.write_text(text.replace("invented processor", "../../=cmd()").replace('"paste":"fresh"', '"paste":"=1+1"'))
    assert main(["export", str(path), "--to", "csv", str(tmp_path / "out")]) == ExitCode.OK
    assert not (tmp_path.parent / "day=2026-11-25").exists()
    (sessions,) = (tmp_path / "out" / "sessions").rglob("part.csv")
    (row,) = csv.DictReader(sessions.open())
    assert row["processor"].startswith("../../=cmd") and json.loads(row["tags"])["paste"] == "=1+1"


def test_several_processes_write_the_same_tables(written, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1})
    paths = [str(written[0] / f"{name}.session.jsonl") for name in NAMES]
    assert main(["export", *paths, "--to", "csv", str(tmp_path / "csv")]) == ExitCode.OK
    before, after = (
        {path.relative_to(folder): sorted(path.read_text().splitlines()) for path in folder.rglob("*.csv")}
        for folder in (written[0] / "csv", tmp_path / "csv")
    )
    assert before == after and len(before) > 8


def test_a_session_that_goes_while_tables_are_written_is_a_sentence_and_the_others_are_written(
    tmp_path, monkeypatch, capsys
):
    paths = [shutil.copy(RECORDED / "minimal.session.jsonl", tmp_path / f"{name}.session.jsonl") for name in "ab"]
    told = export.session_row

    def gone(name, summary):
        paths[1].unlink(missing_ok=True)
        return told(name, summary)

    monkeypatch.setattr(export, "session_row", gone)
    assert main(["export", *map(str, paths), "--to", "csv", str(tmp_path / "csv")]) == ExitCode.INPUT
    assert "There is no file" in capsys.readouterr().err
    (sessions,) = (tmp_path / "csv" / "sessions").rglob("*.csv")
    assert [row["session"] for row in csv.DictReader(sessions.open())] == ["a"]


def test_a_machine_with_a_long_name_gets_a_folder_all_the_same(tmp_path, capsys):
    text = (RECORDED / "v1.session.jsonl").read_text()
    for number in (1, 2):
        (tmp_path / f"{number}.session.jsonl").write_text(text.replace("invented processor", "é" * 300 + f" {number}"))
    given = [str(tmp_path / f"{number}.session.jsonl") for number in (1, 2)]
    assert main(["export", *given, "--to", "csv", str(tmp_path / "out")]) == ExitCode.OK
    folders = [folder.name for folder in (tmp_path / "out" / "sessions").iterdir()]
    assert len(folders) == 2
    assert all(len(name) < 255 for name in folders)


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["a", "--to", "xml", "out"], ExitCode.USAGE),
        (["--to", "csv", "out"], ExitCode.USAGE),
        (["no-such", "--to", "csv", "out"], ExitCode.NO_SESSION),
        (["a", "--to", "csv", "full"], ExitCode.OUTPUT),
        (["a", "broken", "--to", "csv", "out"], ExitCode.INPUT),
    ],
)
def test_mistakes_are_sentences(tmp_path, monkeypatch, capsys, arguments, code):
    monkeypatch.setenv("BENCHMON_SESSIONS", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    shutil.copy(RECORDED / "minimal.session.jsonl", "a.session.jsonl")
    Path("broken.session.jsonl").write_text("nothing\n")
    Path("full").mkdir()
    Path("full", "x").touch()
    assert main(["export", *arguments]) == code
    assert "Traceback" not in capsys.readouterr().err
    assert [path.name for path in Path("full").iterdir()] == ["x"]


def test_without_pyarrow_parquet_is_refused_with_what_to_do(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.delitem(sys.modules, "benchmon.library.parquet_file", raising=False)
    path = str(RECORDED / "minimal.session.jsonl")
    assert main(["export", path, "--to", "parquet", str(tmp_path / "out")]) == ExitCode.MACHINE
    assert "pip install" in capsys.readouterr().err
