"""Odd surroundings: closed or full streams, no home, folders that cannot be written, odd locales, output that stands
still, little memory, few files, files of the present folder that pose as modules.

    python -m tests.benchmarks.campaigns.surroundings

Counted: tracebacks, exit 1, hangs, and code of the present folder that was run.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

from tests.benchmarks.campaigns.workshop import ROOT, bench, command

LONGEST_S = 60.0
SHELL = {
    "no output": "{} >&-", "no error": "{} 2>&-", "no input": "{} <&-", "none of the three": "{} <&- >&- 2>&-",
    "full output": "{} >/dev/full", "full error": "{} 2>/dev/full", "no home": "env -u HOME -u BENCHMON_SESSIONS {}",
    "a home that is none": "env HOME=/nowhere -u BENCHMON_SESSIONS {}", "odd sessions": "env BENCHMON_SESSIONS=~nobody-here/x {}",
    "a relative runtime": "env XDG_RUNTIME_DIR=run {}", "a long runtime": "env XDG_RUNTIME_DIR=/" + "x" * 200 + " {}",
    "locale C": "env -u LC_ALL LANG=C PYTHONUTF8=0 {}", "an odd locale": "env LC_ALL=xx_YY.ISO-9 {}", "little memory": "(ulimit -v 600000; {})",
    "few files": "(ulimit -n 24; {})", "a pipe nobody reads": "{} | true", "a small disk": "(ulimit -f 1; {})", "a gone folder": "(mkdir g; cd g; rmdir ../g; {})",
}  # fmt: skip


def judged(done: subprocess.CompletedProcess[bytes] | None) -> str:
    """What was wrong with it; empty if nothing."""
    if done is None:
        return "hangs"
    text = (done.stdout + done.stderr).decode("utf-8", "replace")
    if "Traceback" in text or "HOSTILE" in text:
        return "traceback" if "Traceback" in text else "code of the present folder was run"
    return "exit 1" if done.returncode == 1 else ""


def run(words: list[str] | str, environment: dict[str, str], folder: Path) -> subprocess.CompletedProcess[bytes] | None:
    """Run it; None if it takes too long."""
    shell = isinstance(words, str)
    try:
        return subprocess.run(
            words,
            shell=shell,
            env=environment,
            cwd=folder,
            capture_output=True,
            timeout=LONGEST_S,
            stdin=subprocess.DEVNULL,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return None


def campaign() -> tuple[int, list[str]]:
    """Runs done, and a line for each that was wrong."""
    seen, bad = 0, []
    with bench() as (folder, tree, environment):
        environment["PYTHONPATH"] = str(ROOT)
        kept = folder / "kept"  # small ones: what is in them is not the question
        kept.mkdir()
        for name in ("v1", "minimal"):
            shutil.copy(ROOT / "recordings" / f"{name}.session.jsonl", kept)
        recording = f"record --for 0.6s --load one --root {tree.root} --to"
        for count, (name, form) in enumerate(SHELL.items()):
            for words in (
                f"{recording} {folder}/s{count}.session.jsonl",
                f"sheet {ROOT}/recordings/v1.session.jsonl",
                f"compare {ROOT}/recordings/box-as-bought.session.jsonl {ROOT}/recordings/box-with-duct.session.jsonl",
                f"sessions {kept}",
                "channels --try-for 0.1s",
                "--help",
            ):
                seen += 1
                wrong = judged(run(form.format(" ".join(command(*words.split()))), environment, folder))
                if wrong:
                    bad.append(f"{name}, {words[:30]}: {wrong}")
        for name in ("platform", "json", "argparse", "select", "ctypes", "subprocess", "socket"):
            (folder / f"{name}.py").write_text(f"import sys; sys.stderr.write('HOSTILE {name}')\nraise SystemExit(1)\n")
        for words in (f"{recording} {folder}/h.session.jsonl", "channels --try-for 0.1s"):
            seen += 1
            wrong = judged(run(command(*words.split()), environment, folder))
            if wrong:
                bad.append(f"hostile folder, {words[:20]}: {wrong}")
    return seen, bad


def main() -> None:
    """Print the table."""
    os.umask(0o022)
    seen, bad = campaign()
    print("\n".join(bad))
    print(f"{seen} runs, {len(bad)} wrong")


if __name__ == "__main__":
    main()
