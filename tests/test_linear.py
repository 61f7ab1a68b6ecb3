"""Small linear algebra against scipy, over random covariances."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import linalg

from readiness.linear import cholesky, dot, forward, inverse, log_determinant, solve

VALUES = st.floats(-3, 3).map(lambda x: round(x, 3))


@st.composite
def covariances(draw):
    """A positive definite matrix of 1 to 6 rows, and a vector."""
    n = draw(st.integers(1, 6))
    raw = np.array(draw(st.lists(st.lists(VALUES, min_size=n, max_size=n), min_size=n, max_size=n)))
    return (raw @ raw.T + 0.5 * np.eye(n)).tolist(), draw(st.lists(VALUES, min_size=n, max_size=n))


@given(covariances())
def test_factor_solution_inverse_and_determinant_are_scipys(case):
    """scipy.linalg on the same matrix."""
    matrix, values = case
    lower = cholesky(matrix)
    full = np.array([row + [0.0] * (len(matrix) - len(row)) for row in lower])
    assert np.allclose(full, linalg.cholesky(matrix, lower=True), atol=1e-10)
    assert np.allclose(forward(lower, values), linalg.solve_triangular(full, values, lower=True), atol=1e-8)
    assert np.allclose(solve(lower, values), linalg.solve(matrix, values), atol=1e-7)
    assert np.allclose(inverse(lower), linalg.inv(matrix), atol=1e-7)
    assert log_determinant(lower) == pytest.approx(np.linalg.slogdet(matrix)[1], abs=1e-9)
    assert dot(values, values) == pytest.approx(float(np.dot(values, values)))


@pytest.mark.parametrize("matrix", [[[0.0]], [[1.0, 2.0], [2.0, 1.0]], [[float("nan")]]])
def test_a_matrix_that_is_no_covariance_is_refused(matrix):
    """Zero, indefinite, not a number."""
    with pytest.raises(ValueError, match="positive definite"):
        cholesky(matrix)
