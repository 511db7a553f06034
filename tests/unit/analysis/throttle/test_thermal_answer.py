"""The learned answer against numpy's solution of the same least squares, and what must not upset it."""

from __future__ import annotations

import random
from math import exp, sqrt

import numpy as np
import pytest

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector
from benchmon.analysis.throttle.thermal_answer import (
    NOISE_K2,
    SHARE_DOUBT_K,
    SHARE_K,
    START_DOUBT_K,
    TAUS_S,
    ThermalAnswer,
)

IDLE_W, LOAD_W, IDLE_C = 5.0, 45.0, 35.0


def fed(seconds: int, seed: int = 1) -> tuple[ThermalAnswer, list[list[float]], list[float]]:
    """An answer after some seconds of a wandering load, with the rows and rises that it looked at."""
    noise, answer = random.Random(seed), ThermalAnswer()
    answer.feed(0.0, IDLE_W, IDLE_C, is_loaded=False)
    states, rows, rises, temp_c = [0.0] * len(TAUS_S), [], [], IDLE_C
    for t_s in range(1, seconds):
        power_w = LOAD_W if t_s == 1 else noise.choice([8.0, 25.0, LOAD_W])  # every move is a step: each is looked at
        temp_c += (IDLE_C + 0.8 * (power_w - IDLE_W) - temp_c) * 0.2 + noise.gauss(0.0, 0.3)
        answer.feed(float(t_s), power_w, temp_c, is_loaded=True)
        relative = (power_w - IDLE_W) / (LOAD_W - IDLE_W)
        states = [one + (1.0 - exp(-1.0 / tau_s)) * (relative - one) for one, tau_s in zip(states, TAUS_S)]
        rows.append([*states, 1.0])
        rises.append(temp_c - IDLE_C)
    return answer, rows, rises


def solved(rows: list[list[float]], rises: list[float]) -> tuple[np.ndarray, np.ndarray]:
    """Least squares with the same prior: unknowns and their covariance (numpy.linalg)."""
    prior = np.diag([SHARE_DOUBT_K**-2] * len(TAUS_S) + [START_DOUBT_K**-2])
    first = np.array([SHARE_K] * len(TAUS_S) + [0.0])
    x = np.array(rows)
    covariance = np.linalg.inv(prior + x.T @ x / NOISE_K2)
    return covariance @ (prior @ first + x.T @ np.array(rises) / NOISE_K2), covariance


@pytest.mark.parametrize("seconds", [2, 5, 60, 400])
def test_what_is_learned_is_the_least_squares_solution(seconds):
    answer, rows, rises = fed(seconds)
    unknowns, covariance = solved(rows, rises)
    assert answer.shares == pytest.approx(unknowns.tolist(), rel=1e-6, abs=1e-6)
    for age_s in (0.5, 8.0, 300.0):
        way = np.array([0.5 * (1.0 - exp(-age_s / tau_s)) for tau_s in TAUS_S] + [0.0])
        mean, variance = answer.dip(0.5 * (LOAD_W - IDLE_W), age_s)
        assert mean == pytest.approx(float(way @ unknowns), rel=1e-6)
        assert sqrt(variance) == pytest.approx(float(np.sqrt(way @ covariance @ way)), rel=1e-6)


def test_a_constant_power_moves_on_from_where_the_stores_are():
    answer, rows, rises = fed(60)
    unknowns, _ = solved(rows, rises)
    states, power_w, age_s = np.array(rows[-1][:-1]), 30.0, 20.0
    pulls = (power_w - IDLE_W) / (LOAD_W - IDLE_W) - states
    way = [pull * (1.0 - exp(-age_s / tau_s)) for pull, tau_s in zip(pulls, TAUS_S)]
    assert answer.move(answer.states, power_w, age_s)[0] == pytest.approx(float(way @ unknowns[:-1]), rel=1e-6)


def test_a_power_that_reads_nothing_under_load_teaches_nothing():
    detector = Detector()
    for t_s in range(60):
        load = 0.0 if t_s < 20 else 100.0
        detector.push(Observation(float(t_s), 3000.0, 0.0, 50.0, load, busy_cores=4.0 if load else 0.0))
    assert detector.events == ()
