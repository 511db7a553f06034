"""Small linear algebra in plain Python: a handful of unknowns, no library to load."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt


def cholesky(matrix: Sequence[Sequence[float]]) -> list[list[float]] | None:
    """Lower triangle L with L·Lᵀ = matrix; None if the matrix is not positive definite."""
    size = len(matrix)
    lower = [[0.0] * size for _ in range(size)]
    for row in range(size):
        for column in range(row + 1):
            rest = matrix[row][column]
            for place in range(column):
                rest -= lower[row][place] * lower[column][place]
            if row == column:
                if not rest > 0.0:
                    return None
                lower[row][row] = sqrt(rest)
            else:
                lower[row][column] = rest / lower[column][column]
    return lower


def solve(lower: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Solve L·Lᵀ·x = right for x."""
    size = len(right)
    x = list(right)
    for row in range(size):
        for place in range(row):
            x[row] -= lower[row][place] * x[place]
        x[row] /= lower[row][row]
    for row in reversed(range(size)):
        for place in range(row + 1, size):
            x[row] -= lower[place][row] * x[place]
        x[row] /= lower[row][row]
    return x
