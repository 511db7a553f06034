"""What the reader beside a load makes of the files it is given, and of a keeper that does not answer."""

import os
import socket
import threading
import time

import pytest

from benchmon.loads.guard import Guarding
from benchmon.loads.reader import number_in, read_on, reading_of


def file(tmp_path, content, name="temp1_input"):
    path = tmp_path / name
    path.write_bytes(content)
    return str(path)


@pytest.mark.parametrize(("content", "number"), [(b"61000\n", 61000), (b"-5000\n", -5000), (b" 0 ", 0)])
def test_a_number(tmp_path, content, number):
    assert number_in(file(tmp_path, content)) == (number, "")


@pytest.mark.parametrize("content", [b"", b"\n", b"nan", b"--5", b"6e4", b"61000 61000", "٣".encode(), b"\xff\x00"])
def test_what_is_no_number(tmp_path, content):
    assert number_in(file(tmp_path, content)) == (None, "not read: no number in its file,")


def test_what_replaces_the_file_while_it_is_watched(tmp_path):
    """A folder, a pipe that nobody writes to, a link to nowhere, nothing at all: none holds it up."""
    path = tmp_path / "temp1_input"
    path.mkdir()
    assert "directory" in number_in(str(path))[1]
    path.rmdir()
    os.mkfifo(path)
    assert number_in(str(path))[0] is None
    path.unlink()
    path.symlink_to(tmp_path / "nowhere")
    assert number_in(str(path))[1] == "not read: device gone,"
    path.unlink()
    assert number_in(str(path))[1] == "not read: device gone,"


def test_a_temperature_in_degrees_and_the_hottest_possible_one_beside_it(tmp_path):
    lies = [file(tmp_path, content, f"temp{at}_input") for at, content in enumerate((b"0", b"150000", b"-3", b"x"), 3)]
    beside = (file(tmp_path, b"72500", "temp2_input"), *lies, str(tmp_path / "gone"))
    guarding = Guarding(file(tmp_path, b"61250"), beside)
    assert reading_of(guarding) == {"temp_c": 61.25, "beside_c": 72.5}
    assert reading_of(guarding._replace(divisor=100.0))["temp_c"] == 612.5
    assert reading_of(guarding._replace(beside=()))["beside_c"] is None
    assert reading_of(guarding._replace(file=str(tmp_path / "gone"))) == {"why": "not read: device gone,"}
    assert reading_of(Guarding()) == {}


def test_a_keeper_that_does_not_answer_is_ended():
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    keeper_pid = os.fork()
    if keeper_pid == 0:
        time.sleep(30.0)
        os._exit(0)
    begun_s = time.monotonic()
    assert read_on(Guarding(), ours, keeper_pid) == "its keeper did not run any more"
    assert 0.9 < time.monotonic() - begun_s < 2.2
    theirs.close()


def test_a_keeper_that_answers_is_read_to_until_it_ends():
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)

    def answer():
        for _ in range(3):
            theirs.recv(4096)
            theirs.send(b".")
        theirs.close()

    answering = threading.Thread(target=answer)
    answering.start()
    keeper_pid = os.fork()
    if keeper_pid == 0:
        os._exit(0)
    assert read_on(Guarding(), ours, keeper_pid) == ""
    answering.join()
