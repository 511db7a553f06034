"""Import of plain tables: what is taken, what is treated, and what is refused with a sentence."""

import codecs
import csv
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmon.errors import InputError
from benchmon.model import keys
from benchmon.model.records import Gap, Mark, MarkKind, Sample, SessionEnd, Setting
from benchmon.model.units import Unit
from benchmon.session.reader import read_session
from benchmon.session.table_import import import_table
from benchmon.session.writer import SessionWriter

FULL = (
    "t_s,clock_mhz,power_w,temp_c,load_pct,work_rate,temp_limit_c,power_limit_w,throttle_count\n"
    "0,3000,40.5,60,99.5,12.25,95,65,0\n"
    "0.5,2990.5,41,61,100,12.5,95,65,0\n"
    "1,2000,30,62,100,9,95,35,3\n"
)


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "trace.csv"

    def write(content):
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


def samples(imported):
    return [record for record in imported.session.records if isinstance(record, Sample)]


def of_kind(imported, kind):
    return [record for record in imported.session.records if isinstance(record, kind)]


def test_a_full_table(table):
    imported = import_table(table(FULL), ambient_c=23.5, tags={"paste": "old"})
    header = imported.session.header
    assert [channel.key for channel in header.channels] == [
        keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP, keys.LOAD, keys.WORK_RATE, keys.CORE_THROTTLE_COUNT,
    ]  # fmt: skip
    assert header.period_s == 0.5
    assert header.tags == {"paste": "old"}
    assert [sample.values for sample in samples(imported)] == [
        (3000, 40.5, 60, 99.5, 12.25, 0),
        (2990.5, 41, 61, 100, 12.5, 0),
        (2000, 30, 62, 100, 9, 3),
    ]
    assert [(each.t_s, each.key, each.value, each.unit) for each in of_kind(imported, Setting)] == [
        (0.0, keys.TEMP_LIMIT, 95.0, Unit.CELSIUS),
        (0.0, keys.POWER_LIMIT_LONG, 65.0, Unit.WATT),
        (1.0, keys.POWER_LIMIT_LONG, 35.0, Unit.WATT),
    ]
    assert of_kind(imported, Mark) == [Mark(1, 0.0, 0.0, MarkKind.ROOM, value=23.5)]
    assert imported.session.end == SessionEnd(1.0, "end of the table")
    assert len(imported.notes) == 1  # the date of the file stands in for the date of the recording


def test_it_is_a_session_like_any_other(table, tmp_path):
    session = import_table(table(FULL), ambient_c=23.5).session
    writer = SessionWriter(tmp_path / "a.session.jsonl")
    for record in (session.header, *session.records):
        writer.write(record)
    writer.close()
    read = read_session(tmp_path / "a.session.jsonl")
    assert read.records == session.records
    assert read.is_complete


@pytest.mark.parametrize("column", ["clock_mhz", "work_rate", "temp_c"])
def test_one_of_three_columns_is_enough(table, column):
    assert len(samples(import_table(table(f"{column},t_s\n50,0\n51,1\n")))) == 2


@pytest.mark.parametrize(
    "content",
    [
        FULL,
        FULL.replace("\n", "\r\n"),
        FULL.replace(",", ";").replace(".", ","),
        FULL.replace(",", ";"),
        FULL.replace(",", "\t"),
        FULL.replace(",", "\t").replace(".", ","),
        FULL.replace(",", " , "),
        FULL.upper(),
        "\n# from my own logger\n" + FULL + "\n\n",
        FULL.replace("\n", ",\n"),
        codecs.BOM_UTF8 + FULL.encode(),
        "".join(",".join(f'"{cell}"' for cell in line.split(",")) + "\n" for line in FULL.splitlines()),  # RFC 4180
    ],
)
def test_the_same_table_in_other_clothes(table, content):
    plain = import_table(table(FULL))
    dressed = import_table(table(content))
    assert dressed.session.records == plain.session.records


def test_blank_cells_are_not_read(table):
    imported = import_table(table("t_s,clock_mhz,temp_c,temp_limit_c\n0,3000,,95\n1,,60\n2,2900,61, \n"))
    assert [sample.values for sample in samples(imported)] == [(3000, None), (None, 60), (2900, 61)]
    assert len(of_kind(imported, Setting)) == 1, "a blank limit is the limit before"
    assert not [note for note in imported.notes if "not read" in note]


def test_cells_that_are_no_numbers_are_not_read_and_counted(table):
    imported = import_table(table("t_s,clock_mhz,temp_c\n0,3000,NaN\n1,inf,60\n2,n/a,-inf\n3,2900,61\n"))
    assert [sample.values for sample in samples(imported)] == [(3000, None), (None, 60), (None, None), (2900, 61)]
    assert "Column clock_mhz: 2 cells without a number (“inf”) taken as not read." in imported.notes
    assert "Column temp_c: 2 cells without a number (“NaN”) taken as not read." in imported.notes


def test_rows_whose_time_goes_back_or_repeats_are_left_out_and_counted(table):
    imported = import_table(table("t_s,temp_c\n0,50\n1,51\n1,52\n2,53\n1.5,54\n900,55\n3,56\n,57\nx,58\n4,59\n"))
    assert [sample.t_s for sample in samples(imported)] == [0, 1, 2, 3, 4]
    assert "3 rows left out because the time repeats, goes back or jumps." in imported.notes
    assert "2 rows without a time left out." in imported.notes


def test_gaps_become_gaps(table):
    rows = [*range(10), 15, 16, 22, *range(23, 30)]
    imported = import_table(table("t_s,temp_c\n" + "".join(f"{t_s},50\n" for t_s in rows)))
    assert of_kind(imported, Gap) == [Gap(9.0, 15.0, "missing"), Gap(16.0, 22.0, "missing")]
    records = imported.session.records
    assert records[records.index(Gap(9.0, 15.0, "missing")) + 1].t_s == 15
    assert "2 gaps in the times became 2 gaps of the recording." in imported.notes


def test_short_breaks_are_no_gaps(table):
    rows = [count / 10 for count in range(20)] + [4.8, 4.9]  # 29 periods, but not longer than 3 s
    assert not of_kind(import_table(table("t_s,temp_c\n" + "".join(f"{t_s},50\n" for t_s in rows))), Gap)
    rows = [0, 2, 4, 14]  # 5 periods of 2 s, not more
    assert not of_kind(import_table(table("t_s,temp_c\n" + "".join(f"{t_s},50\n" for t_s in rows))), Gap)


def test_times_since_1970_become_the_session_time(table):
    imported = import_table(table("t_s,temp_c\n1764076200.5,50\n1764076201.5,51\n"), ambient_c=20)
    assert imported.session.header.started_at == datetime(2025, 11, 25, 13, 10, 0, 500000, tzinfo=UTC)
    assert [sample.t_s for sample in samples(imported)] == [0.0, 1.0]
    assert any("1970" in note for note in imported.notes)


def test_times_that_do_not_start_at_zero_stay_as_they_are(table):
    assert [sample.t_s for sample in samples(import_table(table("t_s,temp_c\n-5,50\n7,51\n")))] == [-5, 7]


def test_unknown_and_blank_columns_are_left_out_and_said(table):
    imported = import_table(table("t_s,temp_c,fan,power_w,\n0,50,900,,\n1,51,900,,\n"))
    assert [channel.key for channel in imported.session.header.channels] == [keys.PROCESSOR_TEMP]
    assert "Columns that are not known were left out: fan, (no name)." in imported.notes
    assert "Column power_w is blank and left out." in imported.notes


def test_a_load_that_may_be_a_share_is_pointed_out(table):
    notes = import_table(table("t_s,temp_c,load_pct\n0,50,0.99\n1,51,1\n")).notes
    assert any("load_pct never exceeds 1" in note for note in notes)


def test_rows_with_too_many_cells_are_left_out(table):
    imported = import_table(table("t_s,temp_c\n0,50\n1,51,7\n2,52\n3,53\n"))
    assert [sample.t_s for sample in samples(imported)] == [0, 2, 3]
    assert "1 row with more cells than the heading has names left out." in imported.notes


@pytest.mark.parametrize(
    ("column", "values", "looks_like", "remedy"),
    [
        ("temp_c", [45000, 46000], "millidegrees", "°C"),
        ("temp_c", [150, 205], "degrees Fahrenheit or kelvin", "°C"),
        ("temp_c", [330, 340], "degrees Fahrenheit or kelvin", "°C"),
        ("temp_limit_c", [95000, 95000], "millidegrees", "°C"),
        ("clock_mhz", [3_200_000, 1_200_000], "kHz", "MHz"),
        ("clock_mhz", [3_200_000_000, 3e9], "Hz", "MHz"),
        ("clock_mhz", [3.2, 1.2], "GHz", "MHz"),
        ("power_w", [45000, 12000], "milliwatts", "watts"),
        ("power_w", [45e6, 12e6], "microwatts", "watts"),
        ("power_limit_w", [65000, 65000], "milliwatts", "watts"),
        ("load_pct", [399, 400], "the sum over all cores", "logical processors"),
    ],
)
def test_wrong_units_are_suspected_by_name(table, column, values, looks_like, remedy):
    others = "work_rate" if column in ("clock_mhz", "temp_c") else "temp_c"
    rows = "".join(f"{count},{values[count % 2]},50\n" for count in range(20))
    with pytest.raises(InputError, match=f"“{column}”.* it looks like {looks_like}") as caught:
        import_table(table(f"t_s,{column},{others}\n{rows}"))
    assert remedy in caught.value.hint


@pytest.mark.parametrize(
    ("column", "values"),
    [
        ("temp_c", [25, 110]),
        ("clock_mhz", [400, 6200]),
        ("power_w", [0, 350]),
        ("power_w", [0, 0]),
        ("load_pct", [0, 101]),
    ],
)
def test_usual_values_and_a_single_faulty_one_are_not_suspected(table, column, values):
    rows = "".join(f"{count},{values[count % 2]},50\n" for count in range(40))
    import_table(table(f"t_s,{column},work_rate\n{rows}40,9999999,50\n"))


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is empty"),
        (b" \n\n", "is empty"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is not a text file"),
        (b"\xd0\xcf\x11\xe0" * 500, "is not a text file"),
        ("t_s,temp_c\n0,50\n1,51\n".encode("utf-16"), "UTF-16"),
        (b"t_s,temp_c\n", "has 0 usable rows"),
        (b"t_s,temp_c\n0,50\n", "has 1 usable row;"),
        (b"t_s,temp_c\n5,50\n5,51\n5,52\n", "has 1 usable row;"),
        (b"time,temp_c\n0,50\n1,51\n", "has no column “t_s”; it has temp_c"),
        (b"time,temp\n0,50\n1,51\n", "names no column that can be imported"),
        (b"0,50\n1,51\n", "names no column that can be imported"),
        (b"t_s,power_w\n0,50\n1,51\n", "has none of the columns clock_mhz, work_rate, temp_c"),
        (b"t_s,temp_c,temp_c\n0,50,50\n1,51,50\n", "has the column “temp_c” twice"),
        (b"t_s,temp_c\n0,50 C\n1,51 C\n", "“temp_c” of .* holds no numbers; its first cell is “50 C”"),
        (b"t_s,temp_c\n1 pm,50\n2 pm,51\n", "“t_s” of .* holds no times; its first cell is “1 pm”"),
        (b"t_s,temp_c\n0,\n1,\n", "holds no number in the columns"),
        (b"t_s,temp_c\n0,5,50,5\n1,0,51,5\n", "Most rows of .* have more cells"),
        (b"t_s,temp_c\n0,50\n500,51\n1000,52\n", "looks like milliseconds"),
        (b"t_s,temp_c\n0,50\n1," + b'"' + b"5" * 200_000 + b"\n", "cannot be read as a table"),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_sentence(table, content, sentence):
    with pytest.raises(InputError, match=sentence) as caught:
        import_table(table(content))
    assert "trace.csv" in caught.value.message


def test_no_such_file_and_no_ordinary_file(tmp_path):
    with pytest.raises(InputError, match="There is no file"):
        import_table(tmp_path / "missing.csv")
    with pytest.raises(InputError, match="is a folder"):
        import_table(tmp_path)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300) | st.text(alphabet="t_s,emp\n;0123456789.-\"\t#cNa", max_size=200).map(
    lambda text: f"t_s,temp_c,{text}".encode()))  # fmt: skip
def test_whatever_the_file_holds_only_input_errors_leave(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("any") / "any.csv"
    path.write_bytes(content)
    try:
        import_table(path)
    except InputError as error:
        assert str(path) in error.message


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(20, 110), st.floats(400, 6000)), min_size=2, max_size=30))
def test_what_another_program_wrote_is_what_is_imported(tmp_path_factory, rows):
    """Written by Python's own csv module in each of its dialects."""
    for dialect in csv.list_dialects():
        path = tmp_path_factory.mktemp("csv") / "any.csv"
        with path.open("w", newline="") as file:
            writer = csv.writer(file, dialect)
            writer.writerow(["t_s", "temp_c", "clock_mhz"])
            writer.writerows((count, *row) for count, row in enumerate(rows))
        assert [sample.values for sample in samples(import_table(path))] == [(clock, temp) for temp, clock in rows]
