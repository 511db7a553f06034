"""Where the width of a comparison comes from: what was wrong in fact, held against what is told, term by term.

    python -m tests.benchmarks.compare_budget [COUNT] [FIRST_SEED] [--processes N] [--as WAY | --all] [--rows FILE]

The pairs are those of ``compare_pairs``. Of each run the bench knows what its cooler really did (``seat``: it was taken
off and put back), by how much the room was read wrong (``room``), and so what is left to the fit. All in per cent of the
figure, as differences of the means of three runs, root of the mean square over the pairs:

* ``error`` beside ``told``, the standard uncertainty of the comparison; ``z`` is the one over the other, pair by pair;
* ``seat``, ``room`` and ``fit`` in fact; ``anew``, what the fits of one side scatter by from run to run;
* ``own`` and ``common`` as told: what more runs make less, and what they do not.

``--rows`` keeps every term of every run, a JSON object a pair.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from statistics import variance
from typing import Any

from benchmon.analysis.compare import cooling as terms
from benchmon.analysis.compare.compare import sides_of as groups_of
from benchmon.analysis.compare.judging import Asked, judge_cooling, shared_by
from benchmon.analysis.compare.matching import main_phase
from tests.benchmarks.compare_pairs import RUNS, WAYS, cooling_of, drawn, sides_of

Row = dict[str, Any]


def budget(seed: int, way: str) -> Row | None:
    """Every term of a pair; None where nothing could be said."""
    pair = drawn(seed, way)
    lived = [one for side in sides_of(pair) for one in side]
    runs = [one.run for one in lived]
    before, after = groups_of(runs)
    spread = None if way == "untold" else pair.spread
    asked = Asked(before, after, shared_by(before, after), 0.03 if spread is None else spread, 0.95)
    verdict, at, effects = judge_cooling(asked)
    if at is None or effects is None:
        return None
    conditions = terms.conditions(runs)
    found = [terms.cooling(run, main_phase(run, runs), conditions) for run in runs]
    bases = [cooling_of(pair.before, pair, at)] * RUNS + [cooling_of(pair.after, pair, at)] * RUNS
    rows = []
    for one, run, cooling, base in zip(lived, runs, found, bases, strict=True):
        value = [*effects.before, *effects.after][len(rows)]
        seat = cooling_of(one.box, pair, at) - base
        room = one.room_off_k / cooling.kelvin
        rows.append(
            {
                "value": value, "seat": seat, "room": room, "fit": value - base - seat - room,
                "own_u": cooling.own_u, "fit_u": cooling.fit_u, "room_u": cooling.room_u, "kelvin": cooling.kelvin,
                "held": cooling.held, "watts": cooling.watts_seen, "length_s": cooling.length_s,
                "to_come": float(sorted(run.model.share_to_come())[len(run.model.share_to_come()) // 2]),
                "room_c": run.summary.thermal.room_c.value,
            }
        )  # fmt: skip
    return {
        "seed": seed, "way": way, "cooler": pair.before.kind, "is_ten": pair.is_ten, "spread": pair.spread,
        "is_rise": at.power_w is not None, "truth": bases[-1] - bases[0], "runs": rows, "answer": verdict.answer.value,
        "own": effects.own().u, "common": effects.common_u, "told": effects.difference().u, "interval": effects.interval(),
    }  # fmt: skip


def apart(row: Row, term: str) -> float:
    """A term of the mean after, less that of the mean before."""
    values = [run[term] for run in row["runs"]]
    return sum(values[RUNS:]) / RUNS - sum(values[:RUNS]) / RUNS


def lines(rows: Sequence[Row], name: str) -> Iterator[str]:
    for kind in (None, *sorted({row["cooler"] for row in rows})):
        some = [row for row in rows if kind in {None, row["cooler"]}]
        yield line(some, name if kind is None else f"    {kind}")


def line(rows: Sequence[Row], name: str) -> str:
    errors = [apart(row, "value") - row["truth"] for row in rows]
    fits = [[run["fit"] for run in row["runs"]] for row in rows]
    anew = [variance(side) for fit in fits for side in (fit[:RUNS], fit[RUNS:])]
    told = [rms([row[term] for row in rows]) for term in ("told", "own", "common")]
    ratios = [error / row["told"] for error, row in zip(errors, rows, strict=True)]
    parts = [rms([apart(row, term) for row in rows]) for term in ("seat", "room", "fit")]
    cells = [rms(errors), told[0], *parts, (sum(anew) / len(anew)) ** 0.5, *told[1:]]
    return f"{name:26}{len(rows):6d}" + "".join(f"{100 * cell:8.2f}" for cell in cells) + f"{rms(ratios):8.2f}"


def rms(values: Sequence[float]) -> float:
    return (sum(value * value for value in values) / len(values)) ** 0.5


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("count", nargs="?", type=int, default=100)
    parser.add_argument("first", nargs="?", type=int, default=1)
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    parser.add_argument("--as", dest="way", choices=WAYS, default="told")
    parser.add_argument("--all", action="store_true", help="every way, one after another")
    parser.add_argument("--rows", type=Path, metavar="FILE", help="append every term to a file, a JSON object a pair")
    args = parser.parse_args()
    os.nice(10)
    names = ("error", "told", "seat", "room", "fit", "anew", "own", "common", "z")
    print(f"{args.count} pairs from seed {args.first} on, {RUNS} runs each, per cent")
    print(f"{'':26}{'pairs':>6}" + "".join(f"{name:>8}" for name in names))
    with ProcessPoolExecutor(args.processes) as pool:
        for way in WAYS if args.all else (args.way,):
            seeds = range(args.first, args.first + args.count)
            rows = [row for row in pool.map(partial(budget, way=way), seeds, chunksize=2) if row is not None]
            print("\n".join(lines(rows, way)), flush=True)
            if args.rows:
                with args.rows.open("a", encoding="utf-8") as file:
                    file.writelines(json.dumps(row) + "\n" for row in rows)


if __name__ == "__main__":
    main()
