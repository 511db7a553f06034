"""Started as root by somebody, it goes on as that somebody."""

import json
import os
import subprocess
import sys

import pytest

from benchmon.stream.privilege import caller_of
from tests.support.recorder_process import ROOT


@pytest.mark.parametrize(
    "environment", [{}, {"SUDO_UID": "0"}, {"SUDO_UID": "x"}, {"SUDO_UID": "-1"}, {"SUDO_UID": "9" * 20}]
)
def test_nobody_is_known(environment):
    assert caller_of(environment) is None


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody else")
def test_root_becomes_the_caller_and_keeps_what_is_open(tmp_path):
    closed = tmp_path / "energy_uj"
    closed.write_text("123")
    closed.chmod(0o400)
    code = f"""
import json, os, pwd
from benchmon.stream.privilege import drop_to_caller
held = os.open({str(closed)!r}, os.O_RDONLY)
who = pwd.getpwnam("nobody")
os.environ["SUDO_UID"] = str(who.pw_uid)
done = drop_to_caller()
try:
    os.open({str(closed)!r}, os.O_RDONLY); again = True
except PermissionError:
    again = False
print(json.dumps([done, os.getresuid() == (who.pw_uid,) * 3, 0 in os.getgroups(), os.read(held, 9).decode(), again]))
"""
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert json.loads(done.stdout) == [True, True, False, "123", False]


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody else")
def test_what_is_made_before_the_sensors_are_open_belongs_to_the_caller():
    """A sessions folder of root's in the caller's home would keep the caller's own recordings out from then on."""
    code = """
import json, os, pwd, tempfile
from benchmon.cli.cautions import say_cautions
with tempfile.TemporaryDirectory() as folder:
    os.chmod(folder, 0o777)
    os.environ.update(SUDO_UID=str(pwd.getpwnam("nobody").pw_uid), BENCHMON_SESSIONS=f"{folder}/sessions", HOME="/kept")
    before = os.getresuid(), os.getresgid(), os.getgroups(), dict(os.environ)
    say_cautions(before_screen=False)
    owners = [pwd.getpwuid(os.lstat(f"{folder}/sessions{name}").st_uid).pw_name for name in ("", "/.cautions-said")]
    print(json.dumps([owners, before == (os.getresuid(), os.getresgid(), os.getgroups(), dict(os.environ))]))
"""
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert json.loads(done.stdout) == [["nobody", "nobody"], True]
