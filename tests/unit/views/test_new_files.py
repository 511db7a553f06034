"""New files: nothing is overwritten, followed or left half done."""

import resource
import signal

import pytest

from benchmon.errors import OutputError
from benchmon.views.new_files import write_new


def test_a_file_that_cannot_be_finished_is_not_left(tmp_path):
    """A limit on the size of files (setrlimit(2)) stands for a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    before = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100, hard))
    try:
        with pytest.raises(OutputError) as refused:
            write_new(tmp_path / "a.svg", b"x" * 1000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        signal.signal(signal.SIGXFSZ, before)
    assert refused.value.hint
    assert list(tmp_path.iterdir()) == []


def test_neither_a_file_nor_a_link_is_written_over(tmp_path):
    (tmp_path / "there").write_text("kept")
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere")
    for name in ("there", "link"):
        with pytest.raises(OutputError, match="exists already"):
            write_new(tmp_path / name, "new")
    assert (tmp_path / "there").read_text() == "kept"
    assert not (tmp_path / "elsewhere").exists()
