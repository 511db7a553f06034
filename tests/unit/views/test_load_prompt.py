"""What is typed for a load: work, or the name of a command."""

import pytest

from benchmon.views.tui.prompts import NotUnderstoodError, load_request, load_words, split_ago


@pytest.fixture
def bench(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    script = tmp_path / "mybench.sh"
    script.write_text("#!/bin/sh\n")
    script.chmod(0o755)
    return script


@pytest.mark.parametrize("text", ["all", "one", "2", "command", "command x3", ""])
def test_work_is_work_even_where_a_program_is_called_the_same(text, tmp_path, monkeypatch):
    for name in ("all", "one", "2", "command"):
        (tmp_path / name).write_text("#!/bin/sh\n")
        (tmp_path / name).chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert load_request(text) == {"do": "load_start", "load": text or "all"}


def test_a_command_is_found_from_where_the_screen_was_started(bench):
    request = load_request("./mybench.sh --size 'a b' -n 4")
    assert request == {"do": "load_start", "argv": [str(bench), "--size", "a b", "-n", "4"]}
    assert load_words(request) == "mybench.sh"
    assert load_request("sh -c 'exit 3'")["argv"] == ["sh", "-c", "exit 3"]


@pytest.mark.parametrize("text", ["./not-there", "no-such-program x", "sh -c 'open", "all fast"])
def test_what_is_neither_is_refused_in_words(text, bench):
    with pytest.raises(NotUnderstoodError) as caught:
        load_request(text)
    assert str(caught.value)


@pytest.mark.parametrize(
    ("text", "rest", "seconds"),
    [
        ("all cores, 10 s ago", "all cores", 10.0),
        ("all cores,10 s ago", "all cores", 10.0),
        ("lid off; 2 min ago", "lid off", 120.0),
        ("53.8 10 s ago", "53.8", 10.0),
        ("53,8, 10 s ago", "53,8", 10.0),
        ("a, b", "a, b", None),
    ],
)
def test_a_comma_before_ago_is_not_part_of_what_was_said(text, rest, seconds):
    assert split_ago(text) == (rest, seconds)
