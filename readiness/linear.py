"""Small dense linear algebra in plain floats: the Cholesky factor of a covariance and what follows from it."""

from __future__ import annotations

from math import log, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

Vector = list[float]
Matrix = list[Vector]


def cholesky(matrix: Sequence[Sequence[float]]) -> Matrix:
    """The lower triangle L with L L' = matrix.

    Parameters
    ----------
    matrix : symmetric and positive definite; only its lower triangle is read

    Returns
    -------
    rows of L, each as long as its number. ValueError where the matrix is not positive definite

    Examples
    --------
    >>> cholesky([[4.0, 2.0], [2.0, 5.0]])
    [[2.0], [1.0, 2.0]]

    """
    rows: Matrix = []
    for i, source in enumerate(matrix):
        row: Vector = []
        for j in range(i):
            above = rows[j]
            row.append((source[j] - sum(a * b for a, b in zip(row, above, strict=False))) / above[j])
        rest = source[i] - sum(a * a for a in row)
        if not rest > 0.0:
            raise ValueError("the matrix is not positive definite")
        row.append(sqrt(rest))
        rows.append(row)
    return rows


def forward(lower: Matrix, values: Sequence[float]) -> Vector:
    """Solve L x = values, L as cholesky gives it.

    >>> forward([[2.0], [1.0, 2.0]], [2.0, 5.0])
    [1.0, 2.0]
    """
    found: Vector = []
    for row, value in zip(lower, values, strict=True):
        found.append((value - sum(a * b for a, b in zip(row, found, strict=False))) / row[-1])
    return found


def solve(lower: Matrix, values: Sequence[float]) -> Vector:
    """Solve L L' x = values.

    >>> solve([[2.0], [1.0, 2.0]], [8.0, 9.0])  # [[4, 2], [2, 5]] x = [8, 9]
    [1.375, 1.25]
    """
    x = forward(lower, values)
    for i in reversed(range(len(x))):
        below = sum(lower[k][i] * x[k] for k in range(i + 1, len(x)))
        x[i] = (x[i] - below) / lower[i][i]
    return x


def inverse(lower: Matrix) -> Matrix:
    """The inverse of L L'.

    >>> inverse([[2.0], [0.0, 4.0]])
    [[0.25, 0.0], [0.0, 0.0625]]
    """
    n = len(lower)
    return [solve(lower, [1.0 if i == j else 0.0 for i in range(n)]) for j in range(n)]


def log_determinant(lower: Matrix) -> float:
    """The logarithm of the determinant of L L'.

    >>> log_determinant([[2.0], [1.0, 2.0]])  # ln 16
    2.7726
    """
    return 2.0 * sum(log(row[-1]) for row in lower)


def dot(a: Sequence[float], b: Sequence[float]) -> float:
    """The sum of products.

    >>> dot([1.0, 2.0], [3.0, 4.0])
    11.0
    """
    return sum(x * y for x, y in zip(a, b, strict=True))
