"""Tables of others: headings of their own, other units, moments instead of seconds, one row a reading."""

from datetime import UTC, datetime

import pytest

from benchmon.cli.main import main
from benchmon.errors import InputError, UsageError
from benchmon.model.records import Sample
from benchmon.session.reader import read_session
from benchmon.session.table_file import Told
from benchmon.session.table_headings import parse_map
from benchmon.session.table_import import import_table
from benchmon.session.table_long import parse_long
from benchmon.session.table_times import TimeReader


@pytest.fixture
def table(tmp_path):
    def write(text):
        path = tmp_path / "log.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def told(*maps, long=None, comma=None):
    return Told(dict(map(parse_map, maps)), None if long is None else parse_long(long), comma)


def values(imported, key):
    place = [channel.key for channel in imported.session.header.channels].index(key)
    return [record.values[place] for record in imported.session.records if isinstance(record, Sample)]


@pytest.mark.parametrize(
    ("heading", "cell", "key", "value"),
    [
        # BIPM, "The International System of Units", 9th edition: t/°C = T/K − 273.15; the foot-pound tables of NIST
        # SP 811 (2008), B.8: t/°C = (t/°F − 32)/1.8, so water boils at 212 °F.
        ("temp_f", "212", "processor_temp_c", 100.0),
        ("temp_k", "373.15", "processor_temp_c", 100.0),
        ("temp_mc", "82500", "processor_temp_c", 82.5),
        ("power_mw", "38900", "package_power_w", 38.9),
        ("wall_kw", "0.0538", "wall_w", 53.8),
        ("clock_ghz", "2.79", "clock_mhz", 2790.0),
        ("clock_khz", "2790000", "clock_mhz", 2790.0),
        ("load_share", "0.25", "load_pct", 25.0),
        ("room_f", "68", "room_c", 20.0),
    ],
)
def test_other_units_in_names_of_our_kind(table, heading, cell, key, value):
    path = table(f"t_s,work_rate,{heading}\n0,100,{cell}\n1,101,{cell}\n")
    imported = import_table(path)
    assert values(imported, key) == pytest.approx([value, value])
    assert any("converted" in note for note in imported.notes)


@pytest.mark.parametrize("one", ["Hottest=temp_c:F", "Hottest=temp_c:°F", "hottest=TEMP_C:f"])
def test_a_person_says_what_a_column_is(table, one):
    path = table("When,Hottest\n0,212\n1,32\n")
    assert values(import_table(path, told=told("When=time", one)), "processor_temp_c") == pytest.approx([100.0, 0.0])


def test_a_unit_in_brackets_is_understood_and_what_was_told_goes_first(table):
    path = table("Time [ms];Package (mW);temp_c;Die [°C]\n0;38900;1;50\n1000;39000;1;51\n")
    imported = import_table(path, told=told("Time [ms]=time", "Package (mW)=power_w", "Die [°C]=temp_c"))
    assert values(imported, "package_power_w") == [38.9, 39.0]
    assert values(imported, "processor_temp_c") == [50.0, 51.0]
    assert imported.session.header.period_s == 1.0
    assert any("left out: temp_c" in note for note in imported.notes)


def test_a_strangers_heading_is_never_guessed_at(table):
    with pytest.raises(InputError, match="names no column"):
        import_table(table("time,CPU temperature,Power\n0,50,30\n1,51,31\n"))


@pytest.mark.parametrize("wrong", ["Hottest", "=temp_c", "Hottest=heat", "Hottest=temp_c:bar", "x=work_rate:1/h"])
def test_what_maps_nothing_is_refused_in_words(wrong):
    with pytest.raises(UsageError) as caught:
        parse_map(wrong)
    assert caught.value.hint


def test_a_heading_that_is_not_there_is_named_with_those_that_are(table):
    with pytest.raises(UsageError, match="no column 'hotest'") as caught:
        import_table(table("Time,Hottest\n0,50\n1,51\n"), told=told("Hotest=temp_c"))
    assert "hottest" in caught.value.hint


def test_moments_of_the_calendar():
    """RFC 3339, 5.8: 1985-04-12T23:20:50.52Z; and 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z."""
    times = TimeReader()
    assert times.seconds("1985-04-12T23:20:50.52Z") == pytest.approx(482196050.52)
    assert times.seconds("1996-12-19T16:39:57-08:00") == times.seconds("1996-12-20T00:39:57Z")
    assert not times.has_no_zone
    assert times.seconds("2026-11-25 13:10:05,5") == times.seconds("2026-11-25T13:10:05.5Z")
    assert times.has_no_zone
    assert times.seconds("yesterday") is None and times.seconds("") is None


@pytest.mark.parametrize(
    "cell", ["25.11.2026 13:10:02", "25.11.2026, 13:10:02,0", "2026-11-25T13:10:02Z", "25.11.2026  13:10:02"]
)
def test_a_day_with_dots_is_the_same_moment(cell):
    assert TimeReader().seconds(cell) == datetime(2026, 11, 25, 13, 10, 2, tzinfo=UTC).timestamp()


@pytest.mark.parametrize("cell", ["11/25/2026 01:10:00 PM", "31.02.2026 13:10:00", "25.11.26 13:10:00", "25.11.2026"])
def test_a_day_that_may_be_another_is_not_guessed(cell):
    assert TimeReader().seconds(cell) is None


def test_times_that_are_none_are_told_with_those_that_are(table):
    with pytest.raises(InputError, match="holds no times") as told:
        import_table(table("t_s,temp_c\n11/25/2026 1:10,50\n11/25/2026 1:11,51\n"))
    assert "25.11.2026 13:10:00" in told.value.hint


def test_moments_begin_the_session_when_they_say(table):
    path = table("When,temp_c\n2026-11-25 13:10:05,50\n2026-11-25 13:10:06,51\n2026-11-25 13:10:07,52\n")
    imported = import_table(path, told=told("When=time"))
    assert imported.session.header.started_at.isoformat() == "2026-11-25T13:10:05+00:00"
    assert [r.t_s for r in imported.session.records if isinstance(r, Sample)] == [0.0, 1.0, 2.0]
    assert any("taken as UTC" in note for note in imported.notes)


def test_a_clock_that_passes_midnight_goes_on():
    times = TimeReader()
    assert [times.seconds(one) for one in ("23:59:58", "23:59:59.5", "0:00:01", "00:00:02")] == [
        86398.0,
        86399.5,
        86401.0,
        86402.0,
    ]


def test_decimal_commas(table):
    semicolons = table("t_s;temp_c;power_w\n0,0;50,5;30\n0,5;51,5;31,25\n")
    assert values(import_table(semicolons), "package_power_w") == [30.0, 31.25]
    quoted = table('t_s,temp_c\n"0,0","50,5"\n"0,5","51,5"\n')
    assert values(import_table(quoted, told=told(comma=True)), "processor_temp_c") == [50.5, 51.5]


LONG = """when,sensor,reading
0.00,cpu heat,50
0.01,package,30
0.02,fan,900
1.00,cpu heat,51
2.00,cpu heat,52
2.01,package,32
"""


def test_one_row_a_reading(table):
    imported = import_table(table(LONG), told=told("CPU heat=temp_c", "package=power_w", long="when,sensor,reading"))
    assert values(imported, "processor_temp_c") == [50.0, 51.0, 52.0]
    assert values(imported, "package_power_w") == [30.0, None, 32.0]  # not read is not made up
    assert [r.t_s for r in imported.session.records if isinstance(r, Sample)] == [0.0, 1.0, 2.0]


def test_one_row_a_reading_needs_its_three_columns(table):
    with pytest.raises(UsageError, match="three headings"):
        parse_long("when,sensor")
    with pytest.raises(UsageError, match="no column 'value'"):
        import_table(table(LONG), told=told("cpu heat=temp_c", long="when,sensor,value"))


def test_the_preview_says_what_is_understood_and_writes_nothing(table, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = table("Time,Hottest [°F],Mood\n0,212,ok\n1,32,ok\n")
    assert main(["import", str(path), "--preview", "--map", "Time=time", "--map", "Hottest [°F]=temp_c"]) == 0
    said = capsys.readouterr().out
    assert "temp_c" in said and "100.0" in said and "mood" in said and "2 rows, 1 s apart" in said
    assert max(map(len, said.splitlines())) <= 80
    assert [file.name for file in tmp_path.iterdir()] == ["log.csv"]


def test_without_a_place_to_write_it_says_so(table, capsys):
    assert main(["import", str(table("t_s,temp_c\n0,50\n1,51\n"))]) == 2
    assert "--preview" in capsys.readouterr().err


def test_what_was_mapped_is_a_session_like_any(table, tmp_path):
    path = table("Time,Hottest [°F]\n" + "".join(f"{t},{120 + t}\n" for t in range(30)))
    made = tmp_path / "made.session.jsonl"
    assert main(["import", str(path), "-o", str(made), "--map", "Time=time", "--map", "Hottest [°F]=temp_c"]) == 0
    assert len([record for record in read_session(made).records if isinstance(record, Sample)]) == 30
