"""Fit the weights of the table of evidence (``benchmon/analysis/throttle/evidence.py``) to the tuning seeds.

    python -m tests.benchmarks.fit_evidence gather ROWS [--seeds 8] [--processes 2]     follows every event, keeps measures
    python -m tests.benchmarks.fit_evidence fit ROWS [ROWS ...]                         prints the table, and what it is worth

Each weight has a guess and a sign by hand, from what the measure can mean (``HAND``); a weight of 0 stays 0, none changes
its sign, none passes ``MOST``. Within that it is fitted by multinomial logistic regression drawn towards the guess: the
likelihood of the true causes over every event at several ages, each event counting once. Trained on two benches and
tried on the third, the printed figures say how far the weights are habits of a bench.
"""

from __future__ import annotations

import argparse
import lzma
import pickle
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle import announcer
from benchmon.analysis.throttle.detector import Detector
from benchmon.analysis.throttle.evidence import TABLE
from benchmon.model.events import EvidenceKind as Kind
from tests.benchmarks.matching import Span, join_teeth, overlap_s
from tests.benchmarks.runs import BENCHES, SETTINGS

CAUSES = ("thermal", "power_limit", "outside")
AGES_S = (2.0, 4.0, 8.0, 15.0, 30.0, 60.0, 120.0, 240.0, 480.0)
"""An event is looked at once it has reached each of these ages."""
MARGINS_K = (12.0, 25.0)
"""The first two benches are also told limits this far above the defended ones; the third does that by itself."""
MOST, DRAW = 6.0, 3.0
"""Greatest weight; how strongly the fit is drawn to the hand's guess (1 / variance)."""
NEAR_S = 15.0
"""Truth is compared with the event's time until now, this long at least: a glide is seen before it counts as limited."""

HAND: dict[Kind, tuple[float, float, float]] = {
    Kind.HELD_WHILE_POWER_MOVED: (4.0, 0.0, 0.0),
    Kind.HELD_SINCE_POWER_FELL: (2.5, 0.0, 0.0),
    Kind.NOTHING_ELSE_HELD: (3.0, 0.0, 0.0),
    Kind.STAYS: (1.0, 0.0, 0.0),
    Kind.FOLLOWS_POWER: (-1.0, 0.5, 0.5),
    Kind.TEETH: (4.0, -1.0, -0.5),
    Kind.TEETH_TO_FLOOR: (0.5, 0.0, 1.5),
    Kind.TEETH_ELSEWHERE: (-2.0, 0.0, 1.0),
    Kind.HEAT_HERE_BEFORE: (3.0, 0.0, 0.0),
    Kind.SAME_ONSET: (1.5, 0.0, 0.0),
    Kind.OTHER_ONSETS: (-1.0, 2.0, 1.0),
    Kind.RAN_FREE_HOTTER: (-4.0, 0.0, 0.0),
    Kind.FRESH_PEAK: (1.2, 0.0, 0.0),
    Kind.RISING: (0.5, 0.5, -0.5),
    Kind.AT_TOLD_LIMIT: (4.0, 0.0, 0.0),
    Kind.COLD: (-4.0, 0.0, 0.0),
    Kind.NO_TEMPERATURE: (-5.0, 0.0, 0.0),
    Kind.CLIMBED_ON: (-2.0, 0.0, 0.0),
    Kind.TAKEN_DOWN_WHILE_COOLING: (-4.0, 0.0, 0.0),
    Kind.HEAT_GAVE_UP: (-5.0, 0.0, 3.0),
    Kind.LIGHTER_WORK: (-3.0, -1.5, -3.0),
    Kind.LOAD_MAY_HAVE_ENDED: (-5.0, -5.0, -5.0),
    Kind.POWER_ALONE_FELL: (0.0, -2.0, -1.5),
    Kind.SINCE_LOAD_BEGAN: (-1.0, 2.0, 0.0),
    Kind.AFTER_USUAL_BUDGET: (0.0, 1.2, 0.0),
    Kind.AT_ONCE: (-0.3, 0.5, -0.3),
    Kind.LONGER_THAN_BUDGETS: (0.0, -3.0, 0.0),
    Kind.AT_POWER_LIMIT: (0.0, 5.0, 0.0),
    Kind.BELOW_POWER_LIMIT: (0.4, -4.5, 0.3),
    Kind.BUDGET_USED_UP: (0.0, 2.0, 0.0),
    Kind.POWER_HELD: (-0.3, 1.2, -0.7),
    Kind.CLOCK_HELD: (0.3, -1.0, 1.0),
    Kind.CLOCK_FOLLOWS_LEAKAGE: (0.0, 2.0, -1.0),
    Kind.POWER_FOLLOWS_LEAKAGE: (0.0, -1.2, 0.6),
    Kind.COOLING_STEP: (5.0, 0.0, 0.0),
    Kind.HEAT_COUNTED: (3.0, 0.0, 0.0),
    Kind.NO_HEAT_COUNTED: (-1.5, 0.0, 0.0),
    Kind.CAP_FELL: (-3.0, -2.0, 5.0),
    Kind.NO_CAP: (0.0, 0.0, -1.5),
    Kind.AT_FLOOR: (0.0, -0.5, 2.0),
    Kind.COLD_AT_FLOOR: (-4.0, 0.0, 4.0),
}
LEAST: dict[tuple[Kind, int], float] = {
    (Kind.AT_TOLD_LIMIT, 0): 3.5,
    (Kind.HEAT_COUNTED, 0): 2.5,
    (Kind.FRESH_PEAK, 0): 0.8,
    (Kind.SINCE_LOAD_BEGAN, 1): 1.5,
    (Kind.LONGER_THAN_BUDGETS, 1): 1.0,
    (Kind.BUDGET_USED_UP, 1): 0.8,
}
"""What the machine says itself, or physics, is not argued away by a bench in which it happens to be needless."""
MOST_OF: dict[tuple[Kind, int], float] = {
    (Kind.HELD_SINCE_POWER_FELL, 0): 2.8,
    (Kind.AT_FLOOR, 2): 2.5,
    (Kind.TEETH_TO_FLOOR, 2): 2.5,
    (Kind.OTHER_ONSETS, 1): 2.5,
    (Kind.FOLLOWS_POWER, 2): 1.5,
    (Kind.AT_ONCE, 2): 1.5,
    (Kind.RISING, 1): 1.5,
}
"""Habits of the benches' scripts that real machines need not share: when a cap is set, how often a run is repeated; and
heat may take a processor to its lowest clock as well, though the benches' heat seldom does. A temperature that merely
stayed after one fall of power may have stayed by chance."""
START = (-1.0, -2.0, -2.5)
MOST_START = 0.0


class Row(NamedTuple):
    """One event at one age."""

    bench: str
    seed: int
    setting: str
    event: tuple[object, ...]
    """The same for all rows of one event."""
    strengths: dict[str, float]
    cause: str
    """The true one; ``unexplained`` where nothing limits, or what nobody could tell."""
    is_told: bool
    """It was announced at last."""


def told_too_high(seen: list[Observation], margin_k: float) -> list[Observation]:
    """The same run with the told limit so much higher."""
    return [one if one.temp_limit_c is None else one._replace(temp_limit_c=one.temp_limit_c + margin_k) for one in seen]


def gather(task: tuple[str, str, int]) -> list[Row]:
    """All rows of one run."""
    bench, kind, seed = task
    run = BENCHES[bench].run(kind, seed)
    seen_of = dict(run.seen)
    if bench != "third":
        limits = seen_of[list(SETTINGS)[1]]
        seen_of |= {f"told +{margin_k:.0f} K": told_too_high(limits, margin_k) for margin_k in MARGINS_K}
    truth = join_teeth(run.truth, 25.0)
    rows = []
    for setting, seen in seen_of.items():
        looks, told = _follow(seen)
        for key, onset_s, now_s, strengths in looks:
            window = Span(onset_s - 2.0, max(now_s, onset_s + NEAR_S), "")
            best = max(truth, key=lambda span, window=window: overlap_s(span, window), default=None)  # type: ignore[misc]
            is_it = best is not None and overlap_s(best, window) >= 0.25 * window.length_s
            cause = best.cause if best is not None and is_it else "unexplained"
            event = (bench, kind, seed, setting, key)
            rows.append(Row(bench, seed, setting, event, strengths, cause, onset_s in told))
    return rows


def _follow(seen: Iterable[Observation]) -> tuple[list[tuple[int, float, float, dict[str, float]]], set[float]]:
    """(event, onset, now, strengths) of every event at each age, and the onsets of those that were announced."""
    looks: list[tuple[int, float, float, dict[str, float]]] = []
    followed: dict[int, tuple[object, int, int]] = {}
    judge = announcer.judge

    def watch(episode: object) -> object:
        judgement = judge(episode)  # type: ignore[arg-type]
        age = sum(episode.age_s >= age_s for age_s in AGES_S) - 1  # type: ignore[attr-defined]
        _, key, last = followed.get(id(episode), (episode, len(followed), -1))
        if age > last:
            strengths = {one.kind.name: round(one.strength, 3) for one in judgement.measured}
            looks.append((key, episode.onset_s, episode.now_s, strengths))  # type: ignore[attr-defined]
        followed[id(episode)] = (episode, key, max(age, last))
        return judgement

    announcer.judge = watch  # type: ignore[assignment]
    try:
        detector = Detector()
        for one in seen:
            detector.push(one)
        detector.finish()
    finally:
        announcer.judge = judge
    return looks, {event.start_s for event in detector.events}


def gather_all(seeds: range, processes: int) -> Iterator[list[Row]]:
    tasks = [(name, kind, seed) for seed in seeds for name, bench in BENCHES.items() for kind in sorted(bench.kinds)]
    with ProcessPoolExecutor(processes) as pool:
        yield from pool.map(gather, tasks, chunksize=4)


# --- the fit --------------------------------------------------------------------------------------------------------------

KINDS = list(HAND)


def bounds() -> list[tuple[float, float]]:
    found = [(-MOST, MOST_START)] * 3
    for kind, hand in HAND.items():
        for place, guess in enumerate(hand):
            most = MOST_OF.get((kind, place), MOST)
            least = LEAST.get((kind, place), 0.0)
            found.append((least, most) if guess > 0.0 else (-most, -least) if guess < 0.0 else (0.0, 0.0))
    return found


def design(rows: list[Row]):
    import numpy as np

    place_of = {kind.name: place + 1 for place, kind in enumerate(KINDS)}
    table = np.zeros((len(rows), len(KINDS) + 1))
    table[:, 0] = 1.0
    for place, row in enumerate(rows):
        for name, strength in row.strengths.items():
            if name in place_of:
                table[place, place_of[name]] = strength
    return table


def truth_of(rows: list[Row]):
    import numpy as np

    return np.array([CAUSES.index(row.cause) if row.cause in CAUSES else 3 for row in rows])


def likelihoods(weights, table):
    import numpy as np

    scores = np.c_[table @ weights, np.zeros(len(table))]
    scores -= scores.max(axis=1, keepdims=True)
    odds = np.exp(scores)
    return odds / odds.sum(axis=1, keepdims=True)


def fit(rows: list[Row]):
    """Weights, the start first, a row for each kind and a column for each cause."""
    import numpy as np
    from scipy.optimize import minimize

    table, truth = design(rows), truth_of(rows)
    per_event = Counter(row.event for row in rows)
    # settings with a told margin are the same runs again: they count together as about one
    counts = np.array([(0.4 if row.setting.startswith("told") else 1.0) / per_event[row.event] for row in rows])
    counts *= np.array([1.0 if row.is_told else 0.2 for row in rows])
    hand = np.array([START, *HAND.values()])
    one_of = np.eye(4)[truth]

    def loss(flat):
        weights = flat.reshape(hand.shape)
        likely = likelihoods(weights, table)
        away = weights - hand
        value = -(counts * np.log(likely[np.arange(len(truth)), truth] + 1e-12)).sum() + 0.5 * DRAW * (away**2).sum()
        slope = table.T @ ((likely - one_of)[:, :3] * counts[:, None]) + DRAW * away
        return value, slope.ravel()

    found = minimize(loss, hand.ravel(), jac=True, method="L-BFGS-B", bounds=bounds(), options={"maxiter": 800})
    return found.x.reshape(hand.shape)


def worth(rows: list[Row], weights, named: float = 0.8) -> str:
    """F1 of the named causes, share in which the likeliest is right, log loss and calibration, over announced events."""
    import numpy as np

    last = {row.event: place for place, row in enumerate(rows) if row.is_told}
    if not last:
        return "no events"
    kept = [rows[place] for place in last.values()]
    likely, truth = likelihoods(weights, design(kept)), truth_of(kept)
    parts = []
    for place, cause in enumerate(CAUSES):
        said = (likely.argmax(axis=1) == place) & (likely.max(axis=1) >= named)
        hits, false, missed = (
            (said & (truth == place)).sum(),
            (said & (truth != place)).sum(),
            ((truth == place) & ~said).sum(),
        )
        f1 = 2 * hits / max(2 * hits + false + missed, 1)
        parts.append(f"{cause[:7]} {f1:.3f} ({hits}/{false}/{missed})")
    parts.append(f"likeliest right {(likely.argmax(axis=1) == truth).mean():.3f}")
    parts.append(f"log loss {-np.log(likely[np.arange(len(truth)), truth] + 1e-9).mean():.3f}")
    top, right = likely.max(axis=1), likely.argmax(axis=1) == truth
    bins = np.clip((top * 10).astype(int), 0, 9)
    gap = sum(abs(top[bins == b].mean() - right[bins == b].mean()) * (bins == b).mean() for b in set(bins.tolist()))
    parts.append(f"gap {gap:.3f}")
    return "  ".join(parts)


def by_setting(title: str, rows: list[Row], weights) -> None:
    for bench in BENCHES:
        for setting in sorted({row.setting for row in rows if row.bench == bench}):
            mine = [row for row in rows if row.bench == bench and row.setting == setting]
            print(f"{title:18}{bench:7}{setting:26}{worth(mine, weights)}")


def print_table(weights) -> None:
    print(f"START = Weights({', '.join(f'{value:.2f}' for value in weights[0])})")
    for kind, row in zip(KINDS, weights[1:], strict=True):
        print(f"    Kind.{kind.name}: Weights({', '.join(f'{value + 0.0:.2f}' for value in row)}),")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    actions = parser.add_subparsers(dest="action", required=True)
    gathering = actions.add_parser("gather")
    gathering.add_argument("rows", type=Path)
    gathering.add_argument("--seeds", type=int, default=8)
    gathering.add_argument("--first", type=int, default=0)
    gathering.add_argument("--processes", type=int, default=2)
    fitting = actions.add_parser("fit")
    fitting.add_argument("rows", type=Path, nargs="+")
    asked = parser.parse_args()
    if asked.action == "gather":
        rows = [
            row for some in gather_all(range(asked.first, asked.first + asked.seeds), asked.processes) for row in some
        ]
        asked.rows.write_bytes(lzma.compress(pickle.dumps([tuple(row) for row in rows]), preset=1))
        print(f"{len(rows)} rows")
        return
    rows = [Row(*row) for path in asked.rows for row in pickle.loads(lzma.decompress(path.read_bytes()))]
    for left_out in BENCHES:
        weights = fit([row for row in rows if row.bench != left_out])
        by_setting(f"without {left_out}", [row for row in rows if row.bench == left_out], weights)
    even = [row for row in rows if row.seed % 2 == 0]
    by_setting("odd by even", [row for row in rows if row.seed % 2], fit(even))
    print_table(fit(rows))


if __name__ == "__main__":
    assert set(HAND) == set(TABLE)
    main()
