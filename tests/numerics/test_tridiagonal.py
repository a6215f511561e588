"""Tridiagonal systems eliminated from both ends, against a dense solver; every size has its own middle."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.numerics.tridiagonal import eliminate, substitute


@pytest.mark.parametrize("python", [False, True])
@given(n=st.integers(1, 12), seed=st.integers(0, 10_000))
def test_solves_as_a_dense_solver(python, n, seed):
    draw = np.random.default_rng(seed)
    lower, upper = draw.normal(size=(2, n))
    diagonal = 4.0 + 3.0 * np.abs(draw.normal(size=n))
    right = draw.normal(size=(2, n))
    dense = np.diag(diagonal) + np.diag(lower[1:], -1) + np.diag(upper[:-1], 1)
    ratio, inverse = np.zeros(n), np.zeros(n)
    (eliminate.py_func if python else eliminate)(lower, diagonal, upper, ratio, inverse)
    for b in right:
        x = b.copy()
        (substitute.py_func if python else substitute)(lower, upper, ratio, inverse, x)
        np.testing.assert_allclose(x, np.linalg.solve(dense, b), rtol=1e-9, atol=1e-12)
