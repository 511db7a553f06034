"""Mistakes and faults from the command line: a sentence, what to do, the documented exit code, and never a traceback."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from benchmon.errors import ExitCode
from tests.support.forked_program import CAUGHT_NOWHERE, code_of, fork_program

pytestmark = [pytest.mark.system, pytest.mark.xdist_group("bad input")]

ROOT = Path(__file__).resolve().parents[2]
RECORDING = ROOT / "recordings" / "minimal.session.jsonl"
BENCHMON = (sys.executable, "-m", "benchmon")
LONGEST_S = 60

READERS = {
    "sheet": lambda file: ["sheet", file],
    "sheet json": lambda file: ["sheet", file, "--format", "json"],
    "verdict": lambda file: ["verdict", file],
    "add": lambda file: ["add", file, "--note", "late"],
    "replay": lambda file: ["replay", file],
    "join": lambda file: ["join", file],
    "behind": lambda file: ["replay", RECORDING, "--behind", file],
}
"""Commands that are given a session file."""


@pytest.fixture
def benchmon(tmp_path):
    """Run the program with its own empty home; what it says never holds a traceback.

    Forked from this process, unless words stand before it or variables are set: then it is started anew.
    """
    home = tmp_path / "home"
    home.mkdir()
    environment = {**os.environ, "HOME": str(home), "PYTHONPATH": str(ROOT), "TMPDIR": str(tmp_path)}
    environment["XDG_RUNTIME_DIR"] = str(home)
    for name in ("BENCHMON_SESSIONS", "XDG_DATA_HOME", "NO_COLOR"):
        environment.pop(name, None)

    def started(words, prefix, variables):
        command = [*map(str, prefix), *BENCHMON, *words]
        streams = {"capture_output": True, "stdin": subprocess.DEVNULL}
        return subprocess.run(command, env=environment | variables, cwd=tmp_path, timeout=LONGEST_S, **streams)

    def forked(words):
        with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
            pid = fork_program(words, tmp_path, (out.fileno(), err.fileno()), environment)
            code = code_of(pid, LONGEST_S)
            assert code is not None, f"{words} hangs"
            out.seek(0), err.seek(0)
            return subprocess.CompletedProcess(words, code, out.read(), err.read())

    def run(*words, prefix=(), **variables):
        words = [*map(str, words)]
        done = started(words, prefix, variables) if prefix or variables else forked(words)
        done.out, done.err = done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")
        assert "Traceback" not in done.out + done.err, done.out + done.err
        assert done.returncode not in {ExitCode.INTERNAL, CAUGHT_NOWHERE}, done.err
        return done

    return run


def assert_sentence(done, code):
    """One sentence on standard error, nothing of it on standard output."""
    assert done.returncode == code, (done.returncode, done.err)
    assert done.err.startswith(("benchmon: ", "usage: ")), done.err
    assert len(done.err.splitlines()) <= 12


# --- files that are no sessions --------------------------------------------------------------------------------------


def bad_file(tmp_path: Path, kind: str) -> Path:
    path = tmp_path / "given.session.jsonl"
    header = RECORDING.read_bytes().splitlines(keepends=True)[0]
    match kind:
        case "empty":
            path.touch()
        case "binary":
            path.write_bytes(bytes(range(256)) * 64)
        case "folder":
            path.mkdir()
        case "words":
            path.write_text("Dear diary,\ntoday I changed the paste.\n")
        case "other json":
            path.write_text('{"hello": "world"}\n')
        case "json number":
            path.write_text("42\n")
        case "newer version":
            path.write_bytes(
                header.replace(b'"version":1', b'"version":999').replace(b'"version": 1', b'"version": 999')
            )
            assert b"999" in path.read_bytes()
        case "cut header":
            path.write_bytes(header[: len(header) // 2])
        case "endless line":
            path.write_bytes(b"{" * 3_000_000)
        case "pipe":
            os.mkfifo(path)
        case "device":
            path.symlink_to("/dev/zero")
        case "loop":
            path.symlink_to(path)
    return path


BAD_FILES = [
    "empty",
    "binary",
    "folder",
    "words",
    "other json",
    "json number",
    "newer version",
    "cut header",
    "endless line",
    "pipe",
    "device",
]


@pytest.mark.parametrize("kind", BAD_FILES)
def test_a_file_that_is_no_session(benchmon, tmp_path, kind):
    done = benchmon("sheet", bad_file(tmp_path, kind))
    assert_sentence(done, ExitCode.INPUT)
    assert done.out == ""


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("kind", ["empty", "binary", "folder"])
def test_every_command_refuses_it(benchmon, tmp_path, reader, kind):
    done = benchmon(*READERS[reader](bad_file(tmp_path, kind)))
    # replay has no terminal here and may say that first; nobody is recording what join was given
    assert done.returncode in {ExitCode.INPUT, ExitCode.TERMINAL, ExitCode.NO_SESSION}
    assert_sentence(done, done.returncode)


@pytest.mark.parametrize("reader", READERS)
def test_a_file_that_is_not_there(benchmon, tmp_path, reader):
    done = benchmon(*READERS[reader](tmp_path / "nowhere" / "x.session.jsonl"))
    assert done.returncode in {ExitCode.NO_SESSION, ExitCode.TERMINAL}
    assert_sentence(done, done.returncode)


@pytest.mark.parametrize("name", ["no-such-name", "*", "a" * 5000, "~nobody-here", "\udcff\udcfe"])
def test_a_name_that_fits_no_session(benchmon, name):
    assert_sentence(benchmon("sheet", name), ExitCode.NO_SESSION)


@pytest.mark.parametrize("command", ["sheet", "verdict", "join", "add"])
def test_no_session_at_all(benchmon, command):
    assert_sentence(benchmon(command), ExitCode.NO_SESSION)


def test_a_link_to_itself(benchmon, tmp_path):
    done = benchmon("sheet", bad_file(tmp_path, "loop"))
    assert done.returncode in {ExitCode.INPUT, ExitCode.NO_SESSION}
    assert_sentence(done, done.returncode)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_a_cut_session_opens_and_says_so(benchmon, tmp_path, share):
    whole = RECORDING.read_bytes()
    path = tmp_path / "cut.session.jsonl"
    path.write_bytes(whole[: max(whole.index(b"\n") + 1, int(len(whole) * share))])
    done = benchmon("sheet", path)
    assert done.returncode == ExitCode.OK, done.err
    assert "cut" in done.out or "not closed" in done.out or "still" in done.out


# --- tables to import ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\x00\x01\x02\xff\xfe" * 100,
        b"t_s,clock_mhz\n",
        b"time,speed\n0,1\n1,2\n",
        b"t_s,clock_mhz\n0,fast\n1,slow\n",
        b"t_s,clock_mhz\nnan,nan\nnan,nan\n",
        b"t_s,wall_w\n0,30\n1,31\n",
        b"t_s\n0\n1\n2\n",
    ],
    ids=["empty", "binary", "heading only", "unknown columns", "words", "nan", "nothing to judge", "times only"],
)
def test_a_table_that_makes_no_sense(benchmon, tmp_path, content):
    table, session = tmp_path / "trace.csv", tmp_path / "trace.session.jsonl"
    table.write_bytes(content)
    assert_sentence(benchmon("import", table, "-o", session), ExitCode.INPUT)
    assert not session.exists(), "a session without sense was left behind"


def test_a_table_that_is_not_there(benchmon, tmp_path):
    assert_sentence(benchmon("import", tmp_path / "none.csv", "-o", tmp_path / "x.session.jsonl"), ExitCode.INPUT)
    assert_sentence(benchmon("import", tmp_path, "-o", tmp_path / "x.session.jsonl"), ExitCode.INPUT)


def test_import_never_overwrites(benchmon, tmp_path):
    table, session = tmp_path / "trace.csv", tmp_path / "kept.session.jsonl"
    table.write_text("t_s,clock_mhz,temp_c\n" + "".join(f"{t},2400,50\n" for t in range(20)))
    session.write_text("mine")
    assert_sentence(benchmon("import", table, "-o", session), ExitCode.OUTPUT)
    assert session.read_text() == "mine"
    assert_sentence(benchmon("import", table, "-o", tmp_path / "nowhere" / "x.session.jsonl"), ExitCode.OUTPUT)


# --- arguments that make no sense ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "line",
    [
        "",
        "nonsense",
        "--nonsense",
        "record --load everything",
        "record --load 0 --for 1s",
        "record --load -3 --for 1s",
        "record --load all --work knitting --for 1s",
        "record --for never",
        "record --for -5s",
        "record --every 0s",
        "record --every 1h",
        "record --every nan",
        "record --room warm --for 1s",
        "record --room 2000 --for 1s",
        "record --stop-at 5000 --for 1s",
        "record --stop-at 111 --for 1s",
        "record --tag paste --for 1s",
        "record --tag =fresh --for 1s",
        "record --steps idle --for 1s",
        "record --steps idle:10s,everything:10s",
        "record --steps command:10s",
        "record --reading wall_w --for 1s",
        "record --reading wall=echo@2s --for 1s",
        "record --reading wall_w=echo@0s --for 1s",
        "record --for 1s --",
        "record --for 1s --load one -- true",
        "record --lines-every soon",
        "sheet --format poem",
        "sheet --output folder/",
        "import x.csv --output ..",
        "sheet --limit hot",
        "sheet --ambient nan",
        "sheet -- true",
        "verdict --part-watts many",
        "verdict --part-watts -5",
        "replay --speed 0",
        "replay --speed 1000",
        "channels --try-for 1h",
        "import",
        "import x.csv",
        "demo --speed nan",
    ],
)
def test_arguments_that_make_no_sense(benchmon, line):
    assert_sentence(benchmon(*line.split()), ExitCode.USAGE)


@pytest.mark.parametrize(
    "command", ["", "demo", "channels", "watch", "record", "join", "replay", "sheet", "add", "verdict", "import"]
)
def test_help_and_nothing_else(benchmon, command):
    done = benchmon(*command.split(), "--help")
    assert done.returncode == ExitCode.OK
    assert done.err == ""
    assert max(map(len, done.out.splitlines())) <= 120


# --- writing ---------------------------------------------------------------------------------------------------------


def test_recording_never_overwrites(benchmon, tmp_path):
    path = tmp_path / "kept.session.jsonl"
    path.write_text("mine")
    assert_sentence(benchmon("record", "--for", "1s", "--to", path), ExitCode.OUTPUT)
    assert path.read_text() == "mine"


@pytest.mark.parametrize("target", ["nowhere/x.session.jsonl", "file/x.session.jsonl", "a" * 300 + ".session.jsonl"])
def test_recording_where_it_cannot_be(benchmon, tmp_path, target):
    (tmp_path / "file").touch()
    assert_sentence(benchmon("record", "--for", "1s", "--to", tmp_path / target), ExitCode.OUTPUT)


def test_report_never_overwrites(benchmon, tmp_path):
    path = tmp_path / "sheet.txt"
    path.write_text("mine")
    assert_sentence(benchmon("sheet", RECORDING, "--output", path), ExitCode.OUTPUT)
    assert_sentence(benchmon("sheet", RECORDING, "--output", tmp_path), ExitCode.OUTPUT)
    assert path.read_text() == "mine"


def plain_user() -> list[str]:
    """Words before a command that take root's right to read and write everything away, so that modes count."""
    if os.getuid() != 0:
        return []
    if shutil.which("setpriv") is None:
        pytest.skip("root may write everywhere, and setpriv is not here to take that away")
    return [
        "setpriv",
        "--bounding-set",
        "-dac_override,-dac_read_search",
        "--inh-caps",
        "-dac_override,-dac_read_search",
    ]


def test_a_session_that_may_not_be_read(benchmon, tmp_path):
    path = tmp_path / "secret.session.jsonl"
    shutil.copy(RECORDING, path)
    path.chmod(0)
    assert_sentence(benchmon("sheet", path, prefix=plain_user()), ExitCode.INPUT)


def test_a_folder_that_may_not_be_written(benchmon, tmp_path):
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o555)
    user = plain_user()
    assert_sentence(benchmon("record", "--for", "1s", "--to", folder, prefix=user), ExitCode.OUTPUT)
    assert_sentence(benchmon("sheet", RECORDING, "--output", folder / "x.txt", prefix=user), ExitCode.OUTPUT)
    assert_sentence(
        benchmon("record", "--for", "1s", prefix=user, BENCHMON_SESSIONS=str(folder / "new")), ExitCode.OUTPUT
    )


def test_a_full_disk(benchmon, tmp_path):
    """A disk of one page, really full: the recording ends with a sentence, and what was written until then opens."""
    disk = tmp_path / "disk"
    disk.mkdir()
    (tmp_path / "saved").mkdir()
    job = f'mount -t tmpfs -o size=4k none {disk} && "$@"; status=$?; cp {disk}/* {tmp_path}/saved/; exit $status'
    if os.getuid() != 0 or subprocess.run(["unshare", "--mount", "true"], capture_output=True).returncode != 0:
        pytest.skip("a small disk needs the right to mount")
    words = ["record", "--every", "0.1s", "--for", "8s", "--quiet", "--to", disk / "x.session.jsonl"]
    done = benchmon(*words, prefix=["unshare", "--mount", "sh", "-c", job, "sh"])
    assert_sentence(done, ExitCode.OUTPUT)
    assert "the disk is full" in done.err
    assert benchmon("sheet", tmp_path / "saved" / "x.session.jsonl").returncode == ExitCode.OK


def test_output_to_a_full_device(benchmon):
    """``benchmon sheet > /dev/full``"""
    done = subprocess.run(
        [*BENCHMON, "sheet", RECORDING], stdout=open("/dev/full", "w"), stderr=subprocess.PIPE, cwd=ROOT
    )
    assert b"Traceback" not in done.stderr
    assert b"Exception ignored" not in done.stderr
    assert done.returncode == ExitCode.OUTPUT, done.stderr


def test_a_reader_that_goes_away(benchmon):
    """``benchmon sheet | head -1``"""
    done = subprocess.run(
        [
            "sh",
            "-c",
            f'"{sys.executable}" -m benchmon sheet "{RECORDING}" | head -1; "{sys.executable}" -m benchmon --help | true',
        ],
        capture_output=True,
        cwd=ROOT,
    )
    assert done.stderr == b""


# --- loads -----------------------------------------------------------------------------------------------------------


def test_a_command_that_is_not_there(benchmon, tmp_path):
    """The session says so."""
    path = tmp_path / "x.session.jsonl"
    done = benchmon("record", "--for", "3s", "--to", path, "--", "no-such-program-here")
    assert done.returncode == ExitCode.LOAD, done.err
    assert "no-such-program-here" in path.read_text()
    assert "failed" in path.read_text()


def test_a_command_that_fails(benchmon, tmp_path):
    path = tmp_path / "x.session.jsonl"
    done = benchmon("record", "--to", path, "--", "sh", "-c", "exit 7")
    assert done.returncode == ExitCode.LOAD, (done.out, done.err)
    assert benchmon("sheet", path).returncode == ExitCode.OK


def test_a_meter_that_talks_nonsense(benchmon, tmp_path):
    """A channel that cannot be read is "not read", with the reason; the rest is recorded."""
    path = tmp_path / "x.session.jsonl"
    done = benchmon(
        "record", "--for", "3s", "--reading", "wall_w=echo hello@1s", "--reading", "room_c=exit 3@1s", "--to", path
    )
    assert done.returncode == ExitCode.OK, done.err
    sheet = benchmon("sheet", path, "--format", "json")
    assert sheet.returncode == ExitCode.OK
    assert '"wall_w"' in sheet.out


# --- a recorder that dies --------------------------------------------------------------------------------------------


def test_a_killed_recorder_loses_nothing_and_leaves_nothing_running(benchmon, tmp_path):
    path = tmp_path / "killed.session.jsonl"
    words = [*BENCHMON, "record", "--load", "one", "--every", "0.2s", "--to", str(path)]
    recorder = subprocess.Popen(
        words,
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "BENCHMON_MARK": path.name},
    )
    try:
        deadline = time.monotonic() + 30
        while not (path.exists() and path.read_bytes().count(b"\n") > 15):
            assert time.monotonic() < deadline, "the recording did not begin"
            time.sleep(0.1)
    finally:
        recorder.send_signal(signal.SIGKILL)
        recorder.wait()
    sheet = benchmon("sheet", path)
    assert sheet.returncode == ExitCode.OK, sheet.err
    assert "cut" in sheet.out or "not closed" in sheet.out
    deadline = time.monotonic() + 5
    while (left := processes_with(f"BENCHMON_MARK={path.name}")) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert left == []
    assert_sentence(benchmon("join", path), ExitCode.NO_SESSION)


def processes_with(variable: str) -> list[int]:
    """Living processes that were started with the variable."""
    found = []
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit():
            try:
                if variable.encode() in (folder / "environ").read_bytes().split(b"\0"):
                    found.append(int(folder.name))
            except OSError:
                continue
    return found


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_a_recorder_that_is_told_to_end(benchmon, tmp_path, number):
    """By the system, by ctrl-c, by a terminal that goes away: the session is closed in good order or goes on."""
    path = tmp_path / "ended.session.jsonl"
    recorder = subprocess.Popen(
        [*BENCHMON, "record", "--for", "20s", "--to", str(path)],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    try:
        deadline = time.monotonic() + 30
        while not (path.exists() and path.read_bytes().count(b"\n") > 4):
            assert time.monotonic() < deadline, "the recording did not begin"
            time.sleep(0.1)
        recorder.send_signal(number)
        said = recorder.communicate(timeout=30)[1]
    finally:
        recorder.kill()
        recorder.wait()
    assert b"Traceback" not in said
    sheet = benchmon("sheet", path, "--format", "json")
    assert '"complete": true' in sheet.out or '"complete":true' in sheet.out


# --- machines and terminals ------------------------------------------------------------------------------------------


def test_no_sensors_at_all(benchmon, tmp_path):
    """It still says what it cannot see, and records what it can."""
    bare = tmp_path / "bare"
    (bare / "sys").mkdir(parents=True)
    (bare / "proc").mkdir()
    shutil.copy("/proc/stat", bare / "proc" / "stat")
    done = benchmon("channels", "--root", bare, "--try-for", "0.2s")
    assert done.returncode in {ExitCode.OK, ExitCode.MACHINE}
    path = tmp_path / "x.session.jsonl"
    done = benchmon("record", "--for", "2s", "--load", "one", "--root", bare, "--to", path)
    assert done.returncode == ExitCode.OK, done.err
    assert "work_rate_per_s" in path.read_text()
    sheet = benchmon("sheet", path)
    assert sheet.returncode == ExitCode.OK
    assert "–" in sheet.out


@pytest.mark.parametrize(
    "command",
    [["sheet", RECORDING], ["channels", "--try-for", "0.2s"], ["verdict", RECORDING], ["add", RECORDING], ["--help"]],
)
def test_plain_ascii_where_nothing_else_can_be_shown(benchmon, command):
    done = benchmon(*command, LC_ALL="C", LANG="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0", PYTHONIOENCODING="ascii")
    assert done.returncode == ExitCode.OK, done.err
    assert done.out
    assert done.stdout.isascii()
    assert done.stderr.isascii()


@pytest.mark.parametrize("command", [["replay", RECORDING], ["watch", "--for", "1s"]])
def test_a_screen_without_a_terminal(benchmon, command):
    assert_sentence(benchmon(*command), ExitCode.TERMINAL)
