"""What arguments that cannot be understood end in: a sentence, what to do, and the exit code for it."""

import pytest

from benchmon.cli import main
from benchmon.errors import ExitCode


@pytest.mark.parametrize(
    "option", ["--map=", "--map=a", "--map=a=nonsense", "--map=a=temp_c:XX", "--long=", "--long=a,b"]
)
def test_an_argument_that_explains_itself_in_two_sentences(option, tmp_path, capsys):
    table = tmp_path / "t.csv"
    table.write_text("t_s,temp_c\n0,40\n1,41\n")
    assert main.main(["import", str(table), "--preview", option]) == ExitCode.USAGE
    said = capsys.readouterr()
    assert said.err.startswith("benchmon: ")
    assert "\n  " in said.err  # what to do
    assert said.out == ""


@pytest.mark.parametrize("words", [["check", "{}"], ["{}"]])
def test_a_file_name_forges_no_line(words, tmp_path, capsys):
    file = tmp_path / "a\nbenchmon: all is well.toml"
    file.write_text("[[phase]]\n")
    main.main(["plans", *(word.format(file) for word in words)])
    said = capsys.readouterr()
    assert not any(line.startswith("benchmon: all is well") for line in (said.out + said.err).splitlines())
