"""A cooler that became another one in the middle of a session: a fan that failed, a heatsink that came loose.

The joint model has one cooler. Where it does not fit, a plain one is tried that may cost more or less for each watt
from some moment on. That moment must lie within a steady load: at a change of power a fan curve would look the same.
"""

from __future__ import annotations

import numpy as np

from benchmon.analysis.fit.joint import Posterior
from benchmon.analysis.fit.kinds import Array
from benchmon.analysis.fit.readings import NOT_SEEN_K, Readings
from benchmon.analysis.fit.stores import advance

TAUS_S: Array = np.array([5.0, 45.0, 170.0, 600.0])
MISFIT_K, MISFIT_STEPS = 0.5, 0.2
"""The joint model fits coolers that stay the same better than this [K], and so many steps of the sensor."""
MORE, LESS = 0.12, -0.2
"""The watts must cost more or less by this share at least."""
EXPLAINS = 0.5
"""What does not fit must shrink to this share (of squares)."""
STEADY_S, STEADY_SHARE = 60.0, 0.12
LEAST_ROWS = 8


def changed_at(readings: Readings, found: Posterior) -> float | None:
    """When the cooler changed [s]; None if it did not, as far as can be seen."""
    fits_k = MISFIT_K + MISFIT_STEPS * readings.step_k
    if found.misfit_k < fits_k:
        return None
    seen = np.flatnonzero(readings.white_k < NOT_SEEN_K)
    if len(seen) < 4 * LEAST_ROWS:
        return None
    rise = (readings.temp_c - readings.room_c)[seen]
    weight = np.sqrt(readings.lengths_s[seen]) / (0.3 + readings.white_k[seen])
    # A few busy cores read hotter for the same watts: that is their hot spot, and no cooler that changed.
    spots = [(readings.power_w * inside)[seen] for inside in readings.some_cores]
    stores = _held(readings, readings.power_w, TAUS_S)[seen]
    plain = np.column_stack([np.ones(len(seen)), stores, *spots])
    of_stores = slice(1, 1 + stores.shape[1])
    without, _ = _squares(plain, rise, weight)
    if without < fits_k**2 * float(np.sum(weight**2)):
        return None  # one plain cooler does fit: it was the room, or the joint model's expectations
    best, best_row, change = without, 0, 0.0
    rows = [
        row
        for row in range(LEAST_ROWS, len(readings.ends_s) - LEAST_ROWS)
        if readings.ends_s[row] - readings.ends_s[0] >= 2 * STEADY_S and _is_steady(readings, row)
    ]
    since = np.where(np.arange(len(readings.ends_s))[:, None] > np.array(rows), readings.power_w[:, None], 0.0)
    later = _held(readings, since, TAUS_S[1:3])[seen].sum(axis=2)
    for place, row in enumerate(rows):
        columns = np.column_stack([plain, later[:, place]])
        squares, values = _squares(columns, rise, weight)
        if squares < best:
            best, best_row, change = squares, row, 2.0 * float(values[-1]) / max(float(values[of_stores].sum()), 1e-9)
    if best > EXPLAINS * without or LESS < change < MORE:
        return None
    return float(readings.ends_s[best_row])


def _held(readings: Readings, power_w: Array, taus_s: Array) -> Array:
    """What plain stores hold, driven by powers ``[stretch, ...]``; ``[stretch, ..., store]``."""
    z = np.repeat(power_w[0][..., None], len(taus_s), axis=-1)
    means = np.empty((*power_w.shape, len(taus_s)))
    even = np.ones(len(taus_s))
    for row, watts in enumerate(power_w):
        means[row], z = advance(z, watts[..., None], even, taus_s, float(readings.lengths_s[row]))
    return means


def _squares(columns: Array, rise: Array, weight: Array) -> tuple[float, Array]:
    values = np.linalg.lstsq(columns * weight[:, None], rise * weight, rcond=1e-8)[0]
    return float(np.sum(((columns @ values - rise) * weight) ** 2)), np.asarray(values, dtype=np.float64)


def _is_steady(readings: Readings, row: int) -> bool:
    """Whether power was the same for a minute before and after."""
    at = readings.ends_s[row]
    near = readings.power_w[np.abs(readings.ends_s - readings.lengths_s / 2.0 - at) < STEADY_S]
    return len(near) >= 2 and bool(np.ptp(near) < STEADY_SHARE * near.mean())  # fewer: stretches are longer
