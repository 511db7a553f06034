"""One model of the machine through all readings of a session, and what they leave open.

    T(t) - room(t) = c + Σ R_k·z_k(t) + h_j·P(t) + Σ a_k·exp(-t/τ_k) + w(t)

``z_k`` are the heat stores of ``stores.py`` for one kind of cooling. For a kind and an expectation of how the rise is
shared, the rest is linear least squares; all kinds and many expectations are tried, and count by how well they explain
the readings. What the readings do not tell apart shows as width.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchmon.analysis.fit.kinds import CHANCES, KINDS, Array, Places, Reference
from benchmon.analysis.fit.readings import NOT_SEEN_K, Readings
from benchmon.analysis.fit.stores import FAST, TAUS_S, Held, hold

DRAWS = 120
SAMPLES = 500
REMAINS_S: Array = np.array([45.0, 240.0, 1100.0, 5000.0])
"""What was warm before goes with these time constants [s]."""
OWN_K, OWN_U_K = 1.5, 2.2
"""Rise that is there without any power: sensor offset, the rest of the box."""
HOT_SPOT, HOT_SPOT_U = 0.08, 0.08
"""Of the whole, for each watt, where only some cores are busy."""
PARTS: Array = np.array([0.17, 0.08, 0.08, 0.50, 0.17])
PARTS_SPREAD: Array = np.array([0.5, 0.45, 0.45, 0.25, 0.6])
LARGE_PARTS: Array = np.array([0.55, 0.12, 0.08, 0.18, 0.07])
LARGE_EVERY = 14
"""Shares of die, paste, foot, sink and case in the whole rise, and the spread of their logarithms (judged). Two of so
many tries are for a heatsink that is large for its chip, as in servers: nearly all of the rise is in die and paste."""
OWN_WAY: Array = np.where(TAUS_S < 30.0, 0.7, 0.3)
"""How far each store may differ from its share: die and paste show at once and need no expectation."""
WANDER_K, WANDER_SHARE, WANDER_S = 0.15, 0.004, 150.0
ROOM_WALK_S = 1800.0
USUAL_RISE_K, USUAL_SPREAD = 60.0, 0.4
"""Machines are built so that full load costs so much at most; how far beyond is believed (logarithm; judged)."""
FAST_SINK_S, SLOW_SINK_S = (20.0, 350.0), (350.0, 2600.0)
"""Time constants of the heatsink that are tried: with an air stream, from small to large; and without one [s]."""
SLOW_SINK = {"linear": 0.35, "natural": 0.75, "fan": 0.25}
"""How often a sink takes more than six minutes: without a fan it gives off its heat slowly (judged)."""
BUSY_BEFORE, LEFT_SHARES, LEFT_K = 0.2, (0.4, 0.1), 0.3
"""How often it had been busy before the session; what share of full load is then left, and else; at least [K]."""
TRUST = 0.5
"""Power to which the evidence is raised: the model is never quite right."""


@dataclass(frozen=True, slots=True)
class Posterior:
    """So many machines that could have given the readings; equally likely."""

    reference: Reference
    kinds: Places
    """Index into ``KINDS`` for each sample."""
    own_k: Array
    resistances: Array
    """[sample, store]."""
    hot_spots: Array
    """[sample, phase]."""
    remains_k: Array
    """What is left of what was warm before, now; [sample, part]."""
    held_w: Array
    """What the stores hold now; [sample, store]."""
    wander_k: Array
    """How far the last readings stand off the model."""
    weights: Array
    """Of each kind."""
    misfit_k: float
    residuals_k: Array


def _shares(rng: np.random.Generator, draws: int) -> tuple[Array, Array]:
    """Expected shares of the whole rise on the grid, one row a draw; and its slowest spread."""
    log_tau = np.log(TAUS_S)
    centres = np.empty((draws, 5))
    slow = np.arange(draws) % 2 == 1
    centres[:, 0] = np.log(1.6) + 0.35 * rng.standard_normal(draws)
    centres[:, 1] = np.log(7.0) + 0.4 * rng.standard_normal(draws)
    centres[:, 2] = np.log(25.0) + 0.4 * rng.standard_normal(draws)
    centres[:, 3] = np.where(
        slow,
        np.log(SLOW_SINK_S[0]) + np.log(SLOW_SINK_S[1] / SLOW_SINK_S[0]) * (rng.permutation(draws) + 0.5) / draws,
        np.log(FAST_SINK_S[0])
        + np.log(FAST_SINK_S[1] / FAST_SINK_S[0]) * np.sqrt((rng.permutation(draws) + 0.5) / draws),
    )
    centres[:, 4] = np.maximum(np.log(700.0), centres[:, 3] + 0.5) + 0.5 * rng.standard_normal(draws)
    usual = np.where((np.arange(draws) % LARGE_EVERY < 2)[:, None], LARGE_PARTS, PARTS)
    parts = usual * np.exp(PARTS_SPREAD * rng.standard_normal((draws, 5)))
    parts /= parts.sum(axis=1, keepdims=True)
    kernel = np.exp(-0.5 * ((log_tau[None, None, :] - centres[:, :, None]) / 0.42) ** 2)
    kernel /= kernel.sum(axis=2, keepdims=True)
    return np.einsum("dp,dpk->dk", parts, kernel), slow


def _covariance(readings: Readings) -> Array:
    t = readings.ends_s - readings.lengths_s / 2.0
    rise = np.abs(readings.temp_c - readings.room_c)
    wander = np.sqrt((WANDER_K + WANDER_SHARE * rise) ** 2 + readings.step_k**2 / 24.0)
    apart = np.abs(t[:, None] - t[None, :])
    cov = np.outer(wander, wander) * np.exp(-apart / WANDER_S)
    cov += readings.room_walk_k**2 / ROOM_WALK_S * np.minimum(t[:, None], t[None, :])
    cov[np.diag_indices_from(cov)] += readings.white_k**2
    return np.asarray(cov)


def fit(readings: Readings, seed: int = 1) -> Posterior:
    """The machines that could have given the readings."""
    rng = np.random.default_rng(seed)
    rise = readings.temp_c - readings.room_c
    seen = readings.white_k < NOT_SEEN_K
    loaded = np.quantile(readings.power_w[seen], 0.95, method="inverted_cdf", weights=readings.lengths_s[seen])
    reference = Reference(max(float(loaded), 1e-6), float(np.quantile(readings.temp_c[seen], 0.97)))
    held = hold(readings.power_w, readings.lengths_s, readings.temp_c, readings.before_w, reference)
    columns = _columns(readings, held)
    count, kinds, size = columns.shape
    lower = np.linalg.cholesky(_covariance(readings))
    flat = np.linalg.solve(lower, np.concatenate([columns.reshape(count, -1), rise[:, None]], axis=1))
    white, target = flat[:, :-1].reshape(count, kinds, size), flat[:, -1]
    mean, precision, chance = _expected(readings, held, reference, rng, size)
    pull = np.einsum("dpq,dq->dp", precision, mean)
    constant = 0.5 * TRUST * (np.linalg.slogdet(precision)[1] - np.einsum("dp,dp->d", mean, pull))
    solved, evidence = np.empty((kinds, DRAWS, size)), np.empty((kinds, DRAWS))
    for kind in range(kinds):  # one kind at a time: all at once would take ten times the memory
        total = white[:, kind].T @ white[:, kind] + precision
        pulled = white[:, kind].T @ target + pull
        solved[kind] = np.linalg.solve(total, pulled[..., None])[..., 0]
        gain = np.einsum("dp,dp->d", pulled, solved[kind]) - np.linalg.slogdet(total)[1]
        evidence[kind] = 0.5 * TRUST * gain + constant + np.log(CHANCES[kind]) + chance[kind]
    weight = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    return _sample(readings, reference, held, (columns, white), (weight, solved, precision), rng=rng)


def _columns(readings: Readings, held: Held) -> Array:
    count, kinds, _ = held.mean.shape
    t = readings.ends_s - readings.lengths_s / 2.0
    remains = np.exp(-t[:, None] / REMAINS_S[None])
    spots = [phase * readings.power_w for phase in readings.some_cores]
    common = np.column_stack([np.ones(count), remains, *spots])
    return np.concatenate([np.repeat(common[:, None, :], kinds, axis=1), held.mean], axis=2)


def _expected(
    readings: Readings, held: Held, reference: Reference, rng: np.random.Generator, size: int
) -> tuple[Array, Array, Array]:
    """Means and precisions of what is expected, one for each draw, and the logarithm of its chance.

    How large the whole is follows from what the stores of this draw hold by now: a sink that is slow has shown little.
    """
    shares, slow = _shares(rng, DRAWS)
    rise = readings.temp_c - readings.room_c - OWN_K
    shape = held.mean[:, 0, :] @ shares.T
    weight = (readings.lengths_s / (1.0 + readings.white_k**2))[:, None]
    scale = (weight * shape * rise[:, None]).sum(axis=0) / (weight * shape**2).sum(axis=0)
    seen = readings.white_k < NOT_SEEN_K
    least = max(float(np.quantile(rise[seen], 0.97)), 1.0) / reference.power_w * 0.5
    scale = np.maximum(scale, least)
    beyond = np.maximum(np.log(scale * reference.power_w / USUAL_RISE_K), 0.0)
    still = np.array([SLOW_SINK[kind.name] for kind in KINDS])[:, None]
    chance = np.log(np.where(slow[None], still, 1.0 - still)) - 0.5 * (beyond / USUAL_SPREAD) ** 2
    spots = len(readings.some_cores)
    first = size - len(TAUS_S)
    mean, var = np.zeros((DRAWS, size)), np.empty((DRAWS, size))
    mean[:, 0], var[:, 0] = OWN_K, OWN_U_K**2 if readings.room_known else 8.0**2
    # What is left from before is part of a load that was: a store that costs little cannot have been warm.
    loaded = np.where(rng.random((DRAWS, 1)) < BUSY_BEFORE, *LEFT_SHARES) * reference.power_w * scale[:, None]
    near = np.add.reduceat(shares[:, FAST:], [0, 1, 3, 5], axis=1)
    var[:, 1 : 1 + len(REMAINS_S)] = (loaded * near) ** 2 + LEFT_K**2
    mean[:, first - spots : first] = HOT_SPOT * scale[:, None]
    var[:, first - spots : first] = (HOT_SPOT_U * scale[:, None]) ** 2
    stores = scale[:, None] * shares
    mean[:, first:] = stores
    var[:, first:] = (OWN_WAY * stores) ** 2 + (0.006 * scale[:, None]) ** 2
    cov = np.zeros((DRAWS, size, size))
    cov[:, np.arange(size), np.arange(size)] = var
    whole = np.zeros((DRAWS, size))
    whole[:, first:] = 0.25 * stores
    cov += whole[:, :, None] * whole[:, None, :]
    return mean, np.asarray(np.linalg.inv(cov), dtype=np.float64), chance


def _sample(
    readings: Readings,
    reference: Reference,
    held: Held,
    seen: tuple[Array, Array],
    found: tuple[Array, Array, Array],
    *,
    rng: np.random.Generator,
) -> Posterior:
    columns, white = seen
    weight, solved, precision = found
    kinds, draws = weight.shape
    # Evenly spaced picks: equally likely machines with the least chance in how many of each.
    place = (np.arange(SAMPLES) + 0.5) / SAMPLES
    picks = np.minimum(np.searchsorted(np.cumsum(weight.ravel()), place), kinds * draws - 1)
    kind, draw = np.divmod(picks, draws)
    size = solved.shape[-1]
    noise = rng.standard_normal((SAMPLES, size))
    values = solved[kind, draw]
    for pick in sorted(set(picks.tolist())):  # numpy's unique would load its masked arrays, for nothing
        k, d = divmod(pick, draws)
        root = np.linalg.inv(np.linalg.cholesky(white[:, k].T @ white[:, k] + precision[d]))
        values[picks == pick] += noise[picks == pick] @ root
    first = size - len(TAUS_S)
    end = readings.ends_s[-1]
    late = np.flatnonzero(readings.white_k < NOT_SEEN_K)[-6:]
    model = np.einsum("nsp,sp->ns", columns[late][:, kind, :], values)
    off = (readings.temp_c[late] - readings.room_c[late])[:, None] - model
    best = int(np.argmax(weight.sum(axis=1)))
    centre = np.einsum("d,dp->p", weight[best] / max(weight[best].sum(), 1e-300), solved[best])
    residuals = readings.temp_c - readings.room_c - columns[:, best] @ centre
    remains_at = slice(1, 1 + len(REMAINS_S))
    return Posterior(
        reference=reference,
        kinds=kind,
        own_k=values[:, 0],
        resistances=values[:, first:],
        hot_spots=values[:, 1 + len(REMAINS_S) : first],
        remains_k=values[:, remains_at] * np.exp(-end / REMAINS_S),
        held_w=held.last[kind],
        wander_k=off.mean(axis=0),
        weights=weight.sum(axis=1),
        misfit_k=float(np.sqrt(np.mean(residuals[readings.white_k < NOT_SEEN_K] ** 2))),
        residuals_k=residuals,
    )
