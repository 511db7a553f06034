"""The list of sessions: right whatever happens to the files, and nothing is lost with the index."""

import json
import os
import shutil
import socket
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from benchmon.cli.main import main
from benchmon.errors import ExitCode
from benchmon.library.cache import Cache
from benchmon.library.facts import Capacity, Facts, WorkedOut
from benchmon.library.index import Index, Listed
from benchmon.library.listing import CAUSES, table
from benchmon.model.events import Cause
from benchmon.session.reader import read_session
from benchmon.stream.store import find_session

ROOT = Path(__file__).parents[3]
RECORDED = ROOT / "recordings"
SMALL = (RECORDED / "minimal.session.jsonl").read_text()


@pytest.fixture(autouse=True)
def own_folders(tmp_path, monkeypatch):
    for name in ("XDG_RUNTIME_DIR", "XDG_CACHE_HOME", "BENCHMON_SESSIONS"):
        monkeypatch.setenv(name, str(tmp_path / name))
        (tmp_path / name).mkdir()
    monkeypatch.setenv("TZ", "UTC")


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "BENCHMON_SESSIONS"


def put(folder, name, paste="fresh", day=25):
    path = folder / f"{name}.session.jsonl"
    path.write_text(SMALL.replace("2026-11-25", f"2026-11-{day}").replace('"paste":"fresh"', f'"paste":"{paste}"'))
    return path


def listed(capsys, *arguments):
    code = main(["sessions", "--json", *map(str, arguments)])
    out, err = capsys.readouterr()
    return code, json.loads(out)["sessions"] if out else [], err


def names(capsys, *arguments):
    return [one["session"] for one in listed(capsys, *arguments)[1]]


def test_names_are_those_that_every_command_takes(folder, tmp_path, capsys):
    put(folder, "a")
    (folder / "deeper").mkdir()
    put(folder / "deeper", "b")
    put(folder, "c")
    shutil.copy(put(folder, "d"), folder / "d.session.jsonl.gz")
    found = names(capsys)
    assert len(found) == 5
    for name in found:
        assert find_session(name).exists()
    assert sorted(found)[:3] == [str(folder / "deeper" / "b.session.jsonl"), "a", "c"]


def test_chosen_by_tag_machine_and_day(folder, capsys):
    put(folder, "a", "fresh", 24)
    put(folder, "b", "old", 25)
    put(folder, "c", "old", 26)
    shutil.copy(RECORDED / "v1.session.jsonl", folder)
    assert names(capsys, "--with-tag", "paste=old") == ["c", "b"]
    assert names(capsys, "--with-tag", "lid") == ["v1"]
    assert names(capsys, "--with-tag", "paste=old", "--since", "2026-11-26") == ["c"]
    assert names(capsys, "--until", "2026-11-24") == ["a"]
    assert names(capsys, "--machine", "INVENTED") == ["v1"]
    assert names(capsys, "--with-tag", "no=such") == []


def test_broken_files_are_listed_as_broken(folder, capsys):
    put(folder, "a")
    (folder / "b.session.jsonl").write_text("no session at all\n")
    (folder / "c.session.jsonl").write_text("")
    code = main(["sessions"])
    out, err = capsys.readouterr()
    assert code == ExitCode.OK
    lines = out.splitlines()
    assert lines[-2].startswith("broken: c: ") and "nothing was recorded" in lines[-2]
    assert lines[-1].startswith("broken: b: ") and "not a benchmon session" in lines[-1]
    assert "Traceback" not in err


def test_right_when_files_change_under_it(folder, capsys):
    path = put(folder, "a", "fresh")
    gone = put(folder, "b", "fresh")
    assert names(capsys, "--with-tag", "paste=fresh") == ["b", "a"]
    stat = path.stat()
    path.write_text(path.read_text().replace('"paste":"fresh"', '"paste":"dried"'))  # of the same length ...
    os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))  # ... and as old as before
    gone.unlink()
    assert names(capsys, "--with-tag", "paste=fresh") == []
    assert names(capsys, "--with-tag", "paste=dried") == ["a"]
    assert len(Cache(print).all("facts")) == 1


def test_what_is_kept_is_not_read_again(folder, capsys, monkeypatch):
    put(folder, "a")
    before = listed(capsys)[1]
    monkeypatch.setattr("benchmon.library.index.facts_of", lambda path: pytest.fail("read again"))
    monkeypatch.setattr("benchmon.library.index.worked_out", lambda path: pytest.fail("worked out again"))
    assert listed(capsys)[1] == before


def test_a_deleted_or_broken_index_costs_nothing_but_time(folder, tmp_path, capsys):
    put(folder, "a")
    before = listed(capsys)[1]
    (index,) = (tmp_path / "XDG_CACHE_HOME" / "benchmon").iterdir()
    index.write_bytes(b"x" * 5000)
    code, found, err = listed(capsys)
    assert (code, found) == (ExitCode.OK, before)
    assert err.count("\n") == 1 and "made anew" in err
    index.unlink()
    assert listed(capsys)[:2] == (ExitCode.OK, before)


def test_nonsense_in_the_index_is_not_believed(folder, capsys):
    put(folder, "a")
    before = listed(capsys)[1]
    cache = Cache(print)
    for kind in ("facts", "worked out"):
        for key, (stamp, _) in cache.all(kind).items():
            cache.put(kind, [(key, stamp, '{"started_at": "never"}')])
    assert listed(capsys)[1] == before


def as_user(*arguments):
    """The command without root's right to read everything, whoever runs the tests."""
    rights = ["setpriv", "--bounding-set=-all", "--inh-caps=-all"] if os.geteuid() == 0 else []
    if rights and shutil.which("setpriv") is None:
        pytest.skip("root may look everywhere, and cannot give that up here")
    command = [*rights, sys.executable, "-m", "benchmon", "sessions", "--json", *arguments]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)
    return done.returncode, json.loads(done.stdout)["sessions"], done.stderr


def test_a_folder_and_a_file_without_permission_are_one_sentence_each(folder):
    put(folder, "a")
    put(folder, "b").chmod(0)
    shut = folder / "shut"
    shut.mkdir(mode=0)
    code, found, err = as_user()
    shut.chmod(0o700)
    assert code == ExitCode.INPUT and "shut cannot be looked into: Permission denied" in err and err.count("\n") == 1
    assert [one["session"] for one in found] == ["a", "b"]
    assert "You may not read" in found[1]["problem"]


def test_a_cache_that_may_only_be_read_is_used_and_costs_one_sentence(folder, tmp_path):
    put(folder, "a")
    _, before, _ = as_user()
    (index,) = (tmp_path / "XDG_CACHE_HOME" / "benchmon").iterdir()
    index.chmod(0o400)
    assert as_user() == (ExitCode.OK, before, "")
    put(folder, "b")
    code, found, err = as_user()
    assert (code, len(found), err.count("\n")) == (ExitCode.OK, 2, 1) and "cannot be kept" in err
    index.chmod(0)
    code, found, err = as_user()
    assert (code, len(found), err.count("\n")) == (ExitCode.OK, 2, 1) and "cannot be used" in err


ODD_NAMES = ("line\nfeed", "esc\x1b[31mred", "byte\udcff", "-rf", "", "ü 漢", "n" * 241)


def test_files_with_odd_names_are_found_by_what_the_list_calls_them(folder, capsys):
    for name in ODD_NAMES:
        put(folder, name)
    found = listed(capsys)[1]
    assert sorted(Path(one["file"]).name for one in found) == sorted(f"{name}.session.jsonl" for name in ODD_NAMES)
    for one in found:
        assert find_session(one["session"]).samefile(one["file"]) and not one["session"].startswith("-")
    assert listed(capsys)[1] == found
    main(["sessions"])
    assert len(capsys.readouterr().out.splitlines()) == 1 + len(ODD_NAMES)


def test_what_is_no_file_is_passed_over_and_nothing_waits_or_loops(folder, capsys):
    put(folder, "a")
    os.mkfifo(folder / "fifo.session.jsonl")
    socket.socket(socket.AF_UNIX).bind(str(folder / "s.session.jsonl")) if len(str(folder)) < 90 else None
    for name, target in {
        "loop": "loop.session.jsonl",
        "none": "nowhere",
        "zero": "/dev/zero",
        "f": "fifo.session.jsonl",
    }.items():
        (folder / f"{name}.session.jsonl").symlink_to(target)
    (folder / "again").symlink_to(folder)
    (folder / "dir.session.jsonl").mkdir()
    assert [one["session"] for one in listed(capsys)[1]] == ["a"]


def test_a_huge_file_that_is_no_session_is_not_read_to_its_end(folder, capsys, monkeypatch):
    with (folder / "huge.session.jsonl").open("wb") as file:
        file.truncate(1 << 40)
    (one,) = listed(capsys)[1]
    assert "not a benchmon session" in one["problem"]


def test_a_reader_that_is_killed_is_a_sentence(folder, capsys, monkeypatch):
    for number in range(2):
        put(folder, f"a{number}")
    monkeypatch.setattr("benchmon.library.index._FACTS_AT_ONCE", 1)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1})
    monkeypatch.setattr("benchmon.library.index.facts_of", lambda _: os._exit(9))
    assert main(["sessions"]) == ExitCode.MACHINE
    err = capsys.readouterr().err
    assert "ended from outside" in err and "Traceback" not in err


def test_many_files_are_read_by_several_processes_with_the_same_result(folder, capsys, monkeypatch):
    for number in range(8):
        put(folder, f"a{number}", day=10 + number)
    (folder / "b.session.jsonl").write_text("no session\n")
    expected = listed(capsys)[1]
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder.parent / "other"))
    for name in ("_FACTS_AT_ONCE", "_WORKED_AT_ONCE"):
        monkeypatch.setattr(f"benchmon.library.index.{name}", 2)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1})
    assert listed(capsys) == (ExitCode.OK, expected, "")


def test_a_folder_that_cannot_be_looked_into_is_one_sentence(folder, capsys, monkeypatch):
    put(folder, "a")
    code, found, err = listed(capsys, folder, folder / "none")
    assert code == ExitCode.INPUT
    assert [one["session"] for one in found] == ["a"]
    assert err.count("\n") == 1 and "cannot be looked into: No such file or directory" in err


def test_files_that_go_while_they_are_listed(folder, monkeypatch):
    paths = [put(folder, f"a{number}") for number in range(20)]
    from benchmon.library import index

    def gone(path, read=index.facts_of):
        paths[-1].unlink(missing_ok=True)
        return read(path)

    monkeypatch.setattr("benchmon.library.index.facts_of", gone)
    found = Index(Cache(pytest.fail), pytest.fail).sessions([folder])
    assert not any(one.facts.problem for one in found)
    assert len(found) == 19


def test_two_who_list_at_once(folder):
    for number in range(60):
        put(folder, f"a{number}", day=10 + number % 20)
    stop = threading.Event()

    def churn():
        while not stop.is_set():
            put(folder, "b").unlink()

    thread = threading.Thread(target=churn)
    thread.start()
    code = "import sys; from benchmon.cli.main import main; sys.exit(main(['sessions', '--json']))"
    both = [subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=-1, stderr=-1) for _ in range(2)]
    outputs = [each.communicate(timeout=60) for each in both]
    stop.set()
    thread.join()
    for out, err in outputs:
        assert len([one for one in json.loads(out)["sessions"] if one["session"][0] == "a"]) == 60
        assert b"cannot" not in err and b"Traceback" not in err


def test_chosen_by_what_held_it_back(folder, capsys, monkeypatch):
    put(folder, "a")
    put(folder, "b")
    put(folder, "c")
    found = {"a": ("thermal", "power_limit"), "b": ("power_limit",), "c": ()}
    monkeypatch.setattr(
        "benchmon.library.index.worked_out",
        lambda path: WorkedOut(found[path.name[0]], Capacity(30.0 + ord(path.name[0]), 29.0, 31.0), False),
    )
    assert names(capsys, "--throttled-by", "heat") == ["a"]
    assert names(capsys, "--throttled-by", "power", "--sort", "sustains") == ["b", "a"]
    assert names(capsys, "--throttled-by", "nothing") == ["c"]


def test_there_is_a_word_for_each_cause():
    assert sorted(CAUSES.values()) == sorted(cause.value for cause in Cause)


def test_one_tag_into_a_selection_of_many(folder, capsys):
    mistyped = [put(folder, "a", "frehs"), put(folder, "b", "frehs")]
    other = put(folder, "c", "old")
    assert main(["add", "--tag", "paste=fresh", "--with-tag", "paste=frehs"]) == ExitCode.OK
    capsys.readouterr()
    assert sorted(names(capsys, "--with-tag", "paste=fresh")) == ["a", "b"]
    assert [len(read_session(path).records) for path in mistyped] == [len(read_session(other).records) + 1] * 2
    assert main(["add", "a", "c", "--tag", "lid=off"]) == ExitCode.OK
    capsys.readouterr()
    assert sorted(names(capsys, "--with-tag", "lid=off")) == ["a", "c"]


def test_many_take_tags_and_notes_only(folder, capsys):
    put(folder, "a")
    put(folder, "b")
    assert main(["add", "a", "b", "--wall", "53"]) == ExitCode.USAGE
    assert main(["add", "a", "--tag", "x=y", "--with-tag", "paste"]) == ExitCode.USAGE
    assert main(["add", "--tag", "x=y", "--with-tag", "no=such"]) == ExitCode.NO_SESSION
    assert "Traceback" not in capsys.readouterr().err


def test_a_mistyped_key_is_renamed_in_a_selection_and_its_values_stay(folder, capsys):
    for name, tag in (("a", '"psate":"old"'), ("b", '"psate":"pad"'), ("c", '"lid":"off"')):
        path = put(folder, name)
        path.write_text(path.read_text().replace('"paste":"fresh"', tag))
    assert main(["add", "--rename-tag", "psate=paste", "--with-tag", "psate"]) == ExitCode.OK
    out = capsys.readouterr().out
    assert "a: Entered as number 2: Tag paste=old" in out and "Tag psate taken away" in out
    tags = {one["session"]: one["tags"] for one in listed(capsys)[1]}
    assert tags == {"a": {"paste": "old"}, "b": {"paste": "pad"}, "c": {"lid": "off"}}
    before = (folder / "a.session.jsonl").read_bytes()
    assert main(["add", "--rename-tag", "psate=paste", "--with-tag", "psate"]) == ExitCode.NO_SESSION
    assert (folder / "a.session.jsonl").read_bytes() == before


def test_a_key_that_is_there_with_another_value_is_left_alone_and_the_others_are_renamed(folder, capsys):
    for name, tags in (
        ("a", '"psate":"old","paste":"fresh"'),
        ("b", '"psate":"old"'),
        ("c", '"psate":"x","paste":"x"'),
    ):
        path = put(folder, name)
        path.write_text(path.read_text().replace('"paste":"fresh"', tags))
    assert main(["add", "--rename-tag", "psate=paste", "--with-tag", "psate"]) == ExitCode.USAGE
    assert "a: it has psate=old and paste=fresh already" in capsys.readouterr().err
    tags = {one["session"]: one["tags"] for one in listed(capsys)[1]}
    assert tags == {"a": {"psate": "old", "paste": "fresh"}, "b": {"paste": "old"}, "c": {"paste": "x"}}


def test_a_tag_is_taken_away_from_one_or_many(folder, capsys):
    for name in "abc":
        put(folder, name)
    assert main(["add", "a", "--drop-tag", "paste"]) == ExitCode.OK
    assert main(["add", "a", "b", "--drop-tag", "paste"]) == ExitCode.USAGE  # a has none any more, b loses its own
    assert "a: it has no tag “paste”" in capsys.readouterr().err
    assert {one["session"]: one["tags"] for one in listed(capsys)[1]} == {"a": {}, "b": {}, "c": {"paste": "fresh"}}


@pytest.mark.parametrize(
    "arguments",
    [["--rename-tag", "psate"], ["--rename-tag", "=paste"], ["--rename-tag", "a=b=c"], ["--drop-tag", "a=b"]],
)
def test_renamings_that_make_no_sense_are_refused(folder, arguments):
    put(folder, "a")
    with pytest.raises(SystemExit) as ended:
        main(["add", "a", *arguments])
    assert ended.value.code == ExitCode.USAGE


def index_file(tmp_path):
    (path,) = (tmp_path / "XDG_CACHE_HOME" / "benchmon").iterdir()
    return path


def empty(index, _):
    index.write_bytes(b"")


def half(index, _):
    index.write_bytes(index.read_bytes()[:3000])


def a_folder(index, _):
    index.unlink()
    index.mkdir()


def a_pipe(index, _):
    index.unlink()
    os.mkfifo(index)


def a_link_to_a_session(index, session):
    index.unlink()
    index.symlink_to(session)


def a_link_to_nowhere(index, session):
    index.unlink()
    index.symlink_to(session.parent / "gone" / "far")


@pytest.mark.parametrize("spoil", [empty, half, a_folder, a_pipe, a_link_to_a_session, a_link_to_nowhere])
def test_whatever_stands_in_the_index_s_place_costs_a_sentence_at_most(spoil, folder, tmp_path, capsys):
    path = put(folder, "a")
    before, content = listed(capsys)[1], path.read_bytes()
    spoil(index_file(tmp_path), path)
    for _ in range(2):
        code, found, err = listed(capsys)
        assert (code, found) == (ExitCode.OK, before)
        assert err.count("\n") <= 1 and "Traceback" not in err
    assert path.read_bytes() == content


def test_two_who_find_the_index_broken_at_once_both_have_their_list(folder, tmp_path, capsys):
    for number in range(30):
        put(folder, f"a{number}")
    before = listed(capsys)[1]
    for _ in range(3):
        index_file(tmp_path).write_bytes(b"x" * 9000)
        code = "import sys; from benchmon.cli.main import main; sys.exit(main(['sessions', '--json']))"
        both = [subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=-1, stderr=-1) for _ in range(2)]
        for each in both:
            out, err = each.communicate(timeout=60)
            assert each.returncode == ExitCode.OK and b"Traceback" not in err
            assert [one["file"] for one in json.loads(out)["sessions"]] == [one["file"] for one in before]


def test_the_index_of_another_version_is_left_alone(folder, tmp_path, capsys):
    put(folder, "a")
    before = listed(capsys)[1]
    other = index_file(tmp_path).with_name("worked-out-999.sqlite3")
    other.write_bytes(b"of a program to come")
    assert listed(capsys) == (ExitCode.OK, before, "")
    assert other.read_bytes() == b"of a program to come"


def test_a_file_of_another_name_is_another_entry(folder, capsys):
    put(folder, "a").rename(folder / "b.session.jsonl")
    assert names(capsys) == ["b"]
    (folder / "b.session.jsonl").rename(folder / "c.session.jsonl")
    assert names(capsys) == ["c"]
    assert [Path(key).name for key in Cache(print).all("facts")] == ["c.session.jsonl"]


def test_machines_whose_clocks_are_apart_share_a_folder(folder, capsys):
    """Files from the future or from long ago are read once, and anew when they change, even to an earlier time."""
    ahead, behind = put(folder, "ahead", day=26), put(folder, "behind", day=24)
    os.utime(ahead, (4e9, 4e9))
    os.utime(behind, (1, 1))
    assert names(capsys) == ["ahead", "behind"]  # by what they say of themselves
    put(folder, "ahead", "changed", day=26)
    os.utime(ahead, (3e9, 3e9))
    assert names(capsys, "--with-tag", "paste=changed") == ["ahead"]


def test_half_a_file_is_listed_without_an_end_and_grows_into_a_whole_one(folder, capsys):
    path = folder / "a.session.jsonl"
    path.write_text(SMALL[: SMALL.index('{"record":"end"') + 20])
    assert listed(capsys)[1][0]["length_s"] is None
    path.write_text(SMALL)
    assert listed(capsys)[1][0]["length_s"] is not None


def test_a_terminal_gets_the_columns_it_has_room_for():
    facts = Facts(
        started_at="2026-11-25T13:10:00+00:00",
        length_s=4000.0,
        machine="Saltmarsh Six",
        tags={"paste": "fresh", "lid": "off"},
        phases=("idle", "all cores", "cool-down"),
    )
    one = Listed("/bench/a.session.jsonl", "", facts, WorkedOut(("thermal",), Capacity(30.0, 29.0, 31.0), True))
    shown = {width: table([one], {one.file: "a"}, width).splitlines() for width in range(50, 140)}
    assert shown[139] == table([one], {one.file: "a"}, None).splitlines()
    for width, lines in shown.items():
        assert max(map(len, lines)) <= max(width, 58)
        headings = lines[0].split()
        assert headings[:5] == ["when", "length", "throttled", "by", "sustains"] and headings[-1] == "session"
    whole = {word: min(width for width in shown if word in shown[width][0]) for word in ("machine", "tags", "phases")}
    assert whole == {"machine": 58 + 15, "tags": 58 + 21, "phases": 58 + 15 + 21 + 28}


def test_a_mistyped_tag_is_answered_with_those_there_are(folder, capsys):
    put(folder, "a", "old")
    put(folder, "b", "fresh")
    for arguments, hint in (
        (("--with-tag", "psate"), "Tags there: paste."),
        (("--with-tag", "paste=frehs"), "Values of paste there: fresh, old."),
        (("--with-tag", "paste=old", "--machine", "none"), ""),
    ):
        assert main(["sessions", *arguments]) == ExitCode.OK
        assert capsys.readouterr().err == f"benchmon: No session in {folder} fits.\n" + (f"  {hint}\n" if hint else "")
    assert main(["add", "--tag", "x=y", "--with-tag", "paste=frehs"]) == ExitCode.NO_SESSION
    assert "Values of paste there: fresh, old." in capsys.readouterr().err


def test_entering_into_many_ends_with_how_many_have_it(folder, capsys):
    put(folder, "a")
    put(folder, "b").write_text("no session\n")
    assert main(["add", "a", "b", "--tag", "lid=off"]) == ExitCode.INPUT
    out, err = capsys.readouterr()
    assert out.endswith("Entered into 1 of 2 sessions.\n") and err.startswith("benchmon: b: ")
