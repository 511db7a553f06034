"""Control signs, signs that turn the writing, line feeds and formulas, in every text a stranger can give, through every
command and format: does any come out?

    python -m tests.benchmarks.campaigns.signs
"""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import re
import select
import shutil
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.campaigns import options
from tests.benchmarks.campaigns.workshop import ROOT, bench, machine
from tests.support.forked_program import code_of, fork_program

POISON = "=P\x1b[31m\x1b]0;t\x07b\rc\x7fe\x9bf\u202eg\u2066h\u2028i\u2029j\ufeffk\u200bl\u00adm\u2060n\U000e0041o\nFORGED\n# FORGED"
MARKUP = "<script>alert(1)</script><img src=x onerror=alert(1)>"
LONGEST_S = 60.0
OWN_BARS = re.compile(rb"\r[ -~]+\[[= ]{30}\] +\d+ %|\r[\w -]+, \d+:\d\d left in all *|\r +\r|(?<= )\r(?=\n|$)")
"""What the program itself draws over on a terminal: how far it is."""


def session(folder: Path) -> Path:
    """A small session in which every text is poison."""
    path = folder / "p.session.jsonl"
    key = "processor_temp_c"
    channel = {"key": key, "label": POISON, "unit": "degC", "source": POISON}
    clock = {"key": "clock_mhz", "label": POISON, "unit": "MHz", "source": POISON}
    head = {"record": "session", "format": "benchmon session", "version": 1, "session_id": POISON, "period_s": 1,
            "started_at": "2026-01-01T00:00:00Z", "channels": [channel, clock], "tags": {POISON: POISON + MARKUP},
            "made_by": POISON, "virtual": POISON}  # fmt: skip
    records = [
        head,
        {"record": "machine", "t_s": 0, "processor": POISON, "board": POISON, "product": POISON, "system": POISON},
    ]
    records += [
        {"record": "setting", "t_s": 0, "key": name, "value": POISON, "source": POISON}
        for name in ("governor", "turbo", POISON)
    ]
    for number, kind in enumerate(("phase", "note", "tag", "score"), start=1):
        text = f"{POISON}={POISON}" if kind == "tag" else POISON
        records.append(
            {"record": "mark", "number": number, "t_s": 0, "entered_s": 0, "kind": kind, "text": text, "value": 1}
        )
    records.append({"record": "load", "t_s": 1, "action": "started", "what": POISON, "reason": POISON})
    records += [["s", t_s, [60 + t_s % 3, 3000], 0] for t_s in range(90)]
    records.append({"record": "channel", "t_s": 89, "key": key, "readable": False, "reason": POISON})
    records.append({"record": "gap", "start_s": 89, "end_s": 95, "reason": POISON})
    records.append({"record": "end", "t_s": 96, "reason": POISON})
    path.write_text("".join(json.dumps(record) + "\n" for record in records))
    return path


def changed(path: Path) -> Path:
    """The same session with other tags."""
    head, rest = path.read_text().split("\n", 1)
    other = path.with_name("o.session.jsonl")
    other.write_text(json.dumps({**json.loads(head), "session_id": "o", "tags": {"x": POISON + MARKUP}}) + "\n" + rest)
    return other


def tree(folder: Path) -> Path:
    """A machine whose labels and description are poison."""
    made = machine(folder / "poisoned")
    made.put("sys/class/hwmon/hwmon0/temp2_label", POISON)
    made.put("sys/class/hwmon/hwmon0/name", "coretemp")
    made.put("sys/class/thermal/thermal_zone0/type", POISON)
    made.put("sys/class/thermal/thermal_zone0/temp", 40000)
    made.put("sys/class/dmi/id/board_name", POISON)
    made.put("sys/devices/system/cpu/cpufreq/policy0/scaling_governor", POISON)
    return made.root


def cases(folder: Path) -> Iterator[tuple[str, list[str]]]:
    """Name and arguments of each."""
    path, odd = str(session(folder)), POISON.replace("\n", " ") + "/x"
    table = folder / "table.csv"
    table.write_text(f"t_s,temp_c,{POISON!r}\n0,40,{POISON!r}\n1,{POISON!r},x\n2,41,y\n3,42,z\n")
    other = str(changed(Path(path)))
    for form in ("text", "markdown", "csv", "json", "html"):
        yield f"sheet {form}", ["sheet", path, "--format", form]
        yield f"compare {form}", ["compare", path, other, "--format", form]
    for made, more in (("captions.srt", ["--kind", "captions"]), ("run.svg", []), ("card.svg", ["--kind", "card"])):
        yield f"figure {made}", ["figure", path, *more, "--output", str(folder / made)]
    yield "figure change.svg", ["figure", path, other, "--kind", "change", "--output", str(folder / "change.svg")]
    yield "figure terminal", ["figure", path, "--terminal"]
    yield "sessions", ["sessions", str(folder)]
    yield "sessions json", ["sessions", str(folder), "--json"]
    yield "export csv", ["export", path, "--to", "csv", str(folder / "tables.csv")]
    plan = folder / "p.toml"
    plan.write_text(f"{json.dumps(POISON)} = {json.dumps(POISON)}\n")
    yield "plans check", ["plans", "check", str(plan)]
    yield "box", ["record", "--for", "0.2s", "--box", str(plan)]
    yield "verdict", ["verdict", path, "--part-watts", "35"]
    yield "verdict json", ["verdict", path, "--json"]
    yield "add list", ["add", path]
    yield "add note", ["add", path, "--note", POISON]
    yield "add tag", ["add", path, "--tag", f"a={POISON}"]
    yield "channels", ["channels", "--root", str(tree(folder)), "--try-for", "0.1s"]
    yield "channels json", ["channels", "--json", "--root", str(tree(folder / "2")), "--try-for", "0.1s"]
    yield "import preview", ["import", str(table), "--preview"]
    yield "import map", ["import", str(table), "--preview", "--map", odd]
    yield "import long", ["import", str(table), "--preview", "--long", odd]
    yield "import", ["import", str(table), "-o", str(folder / "t.session.jsonl")]
    yield (
        "record",
        [
            "record",
            "--for",
            "0.5s",
            "--root",
            str(tree(folder / "3")),
            "--to",
            str(folder / "r.session.jsonl"),
            "--",
            "sh",
            "-c",
            f": {POISON}",
        ],
    )
    yield "record json", ["record", "--json", "--for", "0.3s", "--to", str(folder / "j\x1b[31m.session.jsonl")]
    yield "record tag", ["record", "--for", "0.3s", "--tag", f"a={POISON}", "--to", str(folder / "q.session.jsonl")]
    for name in ("sheet", "verdict", "add", "join", "replay", "compare", "figure", "pack", "plans", "sessions"):
        yield f"{name} of an odd name", [name, odd]
    yield "import of an odd name", ["import", odd, "-o", odd]
    yield "an odd command", [odd]
    yield "an odd option", ["sheet", f"--{odd}"]
    yield from written(folder, path)
    yield from odd_options(folder, path, odd)


def written(folder: Path, path: str) -> Iterator[tuple[str, list[str]]]:
    """A procedure and a description that are in order but for what their texts say."""
    plan, box, text = (
        folder / "w.toml",
        folder / "box.toml",
        json.dumps(POISON.replace("\U000e0041", "").replace("\x7f", "")),
    )
    plan.write_text(
        f'name = {text}\nabout = {text}\n[[phase]]\nname = {text}\nload = "idle"\nlasts = "1s"\ndo = {text}\n'
    )
    box.write_text(f"memory = [{text}]\ncooler = {text}\nfans = {text}\n")
    yield "plans words", ["plans", str(plan)]
    yield "record plan", ["record", "--plan", str(plan), "--box", str(box), "--to", str(folder / "r.session.jsonl")]
    yield "add box", ["add", path, "--box", str(box)]
    for form in ("text", "markdown", "csv", "json", "html"):
        yield f"sheet {form} of what was added", ["sheet", path, "--format", form]
    yield "channels ready", ["channels", "--ready", "--root", str(tree(folder / "4"))]
    yield "channels loads", ["channels", "--loads", "--virtual", "1", "--speed", "1000000"]
    yield "pack", ["pack", path]


def odd_options(folder: Path, path: str, odd: str) -> Iterator[tuple[str, list[str]]]:
    """Poison as the value of every option that the program declares."""
    names: dict[str, object] = {
        "session": path,
        "table": folder / "table.csv",
        "folder": folder,
        "plan": folder / "p.toml",
    }
    names["new"] = folder / "odd-new"
    for one in options.declared():
        if one.is_option and one.takes:
            words = [one.command, *options.START[one.command], *options.BESIDE.get((one.command, one.name), ())]
            words = words[: words.index("--")] if "--" in words else words
            yield f"{one.command} {one.name}", [*options.filled(words, names), one.name, *[odd] * one.takes]


def outputs(words: list[str], environment: dict[str, str]) -> Iterator[tuple[str, bytes]]:
    """What it prints into a pipe, and onto a terminal."""
    yield "pipe", _printed(words, environment, os.pipe())
    yield (
        "terminal",
        OWN_BARS.sub(b"", _printed(words, environment | {"TERM": "dumb"}, pty.openpty()).replace(b"\r\n", b"\n")),
    )


def _printed(words: list[str], environment: dict[str, str], ends: tuple[int, int]) -> bytes:
    ours, theirs = ends
    pid = fork_program(words, ROOT, (theirs, theirs), environment, first=lambda: os.close(ours))
    os.close(theirs)
    seen = b""
    while select.select([ours], [], [], LONGEST_S)[0]:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # a terminal that nobody holds any more
            break
        if not piece:
            break
        seen += piece
    os.close(ours)
    assert code_of(pid, LONGEST_S) is not None, f"{words} hangs"
    return seen


def faults(name: str, raw: bytes) -> list[str]:
    """What came through."""
    text = raw.decode("utf-8", "replace")
    found = sorted({f"U+{ord(sign):04X}" for sign in text if sign != "\n" and not sign.isprintable()})
    if any(line.startswith(("FORGED", "# FORGED")) for line in text.split("\n")):
        found.append("a forged line")
    if "csv" in name:
        found += _in_table(text)
    if "html" in name or "svg" in name:
        found += [markup for markup in ("<script", "<img") if markup in text]
    if "Traceback" in text or "a fault in benchmon itself" in text:
        found.append("a fault")
    return found


def _in_table(text: str) -> list[str]:
    try:
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    except csv.Error as error:
        return [str(error)]
    return ["a formula"] if any(cell[:1] in ("=", "+", "@") for cell in cells) else []


def _made(folder: Path) -> bytes:
    """What stands in the files that a command made; they are removed."""
    text = b""
    for path in sorted(folder.glob("*.s[rv][tg]")) + sorted(folder.glob("tables.csv/**/*.csv")):
        text += path.read_bytes()
        path.unlink()
    shutil.rmtree(folder / "tables.csv", ignore_errors=True)
    return text


def campaign() -> tuple[int, list[str]]:
    """Outputs looked at, and a line for each that let something through."""
    seen, bad = 0, []
    with bench() as (folder, _, environment):
        environment["PYTHONUTF8"] = "1"
        for name, words in cases(folder):
            words = [word.replace("\0", "") for word in words]
            for where, raw in outputs(words, environment):
                seen += 1
                found = faults(name, raw + _made(folder))
                if found:
                    bad.append(f"{name} ({where}): {', '.join(found)}")
            for made in folder.glob("*.session.jsonl"):
                if made.name[0] in "rjqt":
                    made.unlink()
    return seen, bad


def main() -> None:
    """Print the table."""
    seen, bad = campaign()
    print("\n".join(bad))
    print(f"{seen} outputs, {len(bad)} with signs that steer, forged lines or formulas")


if __name__ == "__main__":
    main()
