"""What was worked out is kept, never instead of the truth, and nothing depends on its being there."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

from benchmon.library.answers import Answer, kept_answer
from benchmon.library.cache import Cache


def test_kept_until_file_question_or_program_changes(tmp_path, monkeypatch):
    session, said, worked = tmp_path / "a", [], []
    session.write_text("one")

    def ask(**asked):
        cache = Cache(said.append, tmp_path / "cache")
        return kept_answer(cache, session, asked, lambda: worked.append(1) or Answer(f"answer {len(worked)}", False))

    assert ask(limit=90).text == ask(limit=90).text == "answer 1"
    assert ask(limit=95).text == "answer 2"
    session.write_text("two")
    assert ask(limit=90).text == "answer 3"
    session.write_text("one")
    os.utime(session, (1, 1))
    assert ask(limit=90).text == "answer 1"  # what it holds counts, not when it was written
    monkeypatch.setattr("benchmon.library.answers.program_stamp", lambda: "another program")
    assert ask(limit=90).text == "answer 4"
    assert said == []


def test_what_was_read_from_a_file_that_grew_is_not_kept(tmp_path):
    session = tmp_path / "a"
    session.write_text("one")
    cache = Cache(print, tmp_path / "cache")
    kept_answer(cache, session, {}, lambda: session.write_text("more") and Answer("old", False))
    session.write_text("one")
    assert kept_answer(cache, session, {}, lambda: Answer("new", False)).text == "new"


def test_a_broken_file_is_made_anew_with_one_sentence(tmp_path):
    said = []
    Cache(said.append, tmp_path).put("kind", [("key", "stamp", "value")])
    (path,) = tmp_path.iterdir()
    path.write_bytes(b"no database at all" * 100)
    cache = Cache(said.append, tmp_path)
    assert cache.get("kind", "key", "stamp") is None
    cache.put("kind", [("key", "stamp", "value")])
    assert Cache(said.append, tmp_path).get("kind", "key", "stamp") == "value"
    assert len(said) == 1 and "made anew" in said[0]


def test_a_file_broken_in_the_middle_is_made_anew(tmp_path):
    said = []
    Cache(said.append, tmp_path).put("kind", [(f"key {n}", "stamp", "value" * 50) for n in range(400)])
    (path,) = tmp_path.iterdir()
    data = bytearray(path.read_bytes())
    data[4096:-100] = b"\x55" * (len(data) - 4196)
    path.write_bytes(data)
    cache = Cache(said.append, tmp_path)
    assert cache.all("kind") == {}
    cache.put("kind", [("key", "stamp", "value")])
    assert Cache(said.append, tmp_path).get("kind", "key", "stamp") == "value"
    assert said


def test_other_tables_under_its_name_are_made_anew(tmp_path):
    said = []
    Cache(said.append, tmp_path)
    (path,) = tmp_path.iterdir()
    with sqlite3.connect(path) as other:
        other.execute("DROP TABLE kept")
        other.execute("CREATE TABLE kept (of, another, program)")
    Cache(said.append, tmp_path).put("kind", [("key", "stamp", "value")])
    assert Cache(said.append, tmp_path).get("kind", "key", "stamp") == "value"
    assert len(said) == 1 and "made anew" in said[0]


def test_no_folder_is_made_wherever_one_happens_to_stand(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in ("HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, "relative")
    cache = Cache(print)
    cache.put("kind", [("key", "stamp", "value")])
    assert cache.get("kind", "key", "stamp") is None
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_costs_one_sentence(tmp_path):
    said = []
    cache = Cache(said.append, tmp_path)
    cache._database.execute("PRAGMA max_page_count = 4")  # SQLite's own word for a disk that takes no more
    cache.put("kind", [(f"key {n}", "stamp", "value" * 500) for n in range(50)])
    cache.put("kind", [("key", "stamp", "value")])
    assert cache.all("kind") == {}
    assert len(said) == 1 and "full" in said[0]


def test_without_a_place_to_keep_it_everything_works(tmp_path):
    said = []
    folder = tmp_path / "file"
    folder.write_text("")
    cache = Cache(said.append, folder)
    cache.put("kind", [("key", "stamp", "value")])
    assert cache.get("kind", "key", "stamp") is None
    assert cache.all("kind") == {}
    assert len(said) == 1


def test_a_cache_that_somebody_holds_costs_one_sentence(tmp_path, monkeypatch):
    monkeypatch.setattr("benchmon.library.cache._WAIT_S", 0.05)
    said = []
    Cache(said.append, tmp_path).put("kind", [("key", "stamp", "value")])
    (path,) = tmp_path.iterdir()
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    cache = Cache(said.append, tmp_path)
    assert cache.get("kind", "key", "stamp") is None
    cache.put("kind", [("key", "stamp", "other")])
    assert len(said) == 1
    other.execute("ROLLBACK")
    assert Cache(said.append, tmp_path).get("kind", "key", "stamp") == "value"


def test_only_so_many_are_kept(tmp_path):
    cache = Cache(print, tmp_path)
    for number in range(10):
        cache.put("kind", [(str(number), "", "")], most=3)
    assert sorted(cache.all("kind")) == ["7", "8", "9"]


def test_two_programs_at_once(tmp_path):
    code = (
        "import sys; from pathlib import Path; from benchmon.library.cache import Cache\n"
        "cache = Cache(lambda text: sys.exit(text), Path(sys.argv[1]))\n"
        "for n in range(40): cache.put('kind', [(sys.argv[2] + str(n), 's', 'v')])"
    )
    root = Path(__file__).parents[3]
    both = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path), name], cwd=root) for name in ("a", "b")]
    assert [each.wait(60) for each in both] == [0, 0]
    assert len(Cache(print, tmp_path).all("kind")) == 80
