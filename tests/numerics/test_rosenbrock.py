"""The Rosenbrock-W method: its order conditions, its stability, and its order on stiff and smooth problems."""

import numpy as np
import pytest

from bloomless.numerics.rosenbrock import ALPHA, ERROR, GAMMA, LAST, PULL, SLANT, STEP, WEIGHTS, WEIGHTS_EMBEDDED


def test_order_conditions():
    # Hairer and Wanner, Solving ODE II, section IV.7, tables 7.1 and 7.2: third order with any matrix W.
    ones = np.ones(4)
    a, g = ALPHA.sum(1), SLANT @ ones
    for weights, order in ((WEIGHTS, 3), (WEIGHTS_EMBEDDED, 2)):
        conditions = [(weights @ ones, 1.0), (weights @ a, 1 / 2), (weights @ g, 0.0)]
        if order == 3:
            conditions += [(weights @ a**2, 1 / 3), (weights @ ALPHA @ a, 1 / 6)]
            conditions += [(weights @ ALPHA @ g, 0.0), (weights @ SLANT @ a, 0.0), (weights @ SLANT @ g, 0.0)]
        for found, wanted in conditions:
            assert found == pytest.approx(wanted, abs=1e-13)


def test_stiffly_accurate_and_damping():
    np.testing.assert_allclose(ALPHA[3] + SLANT[3], WEIGHTS, atol=1e-15)
    assert abs(GAMMA**3 - 3 * GAMMA**2 + 1.5 * GAMMA - 1 / 6) < 1e-15
    for z in (1e2, 1e4, 1e8):
        grown = 1 + z * WEIGHTS @ np.linalg.solve(np.eye(4) + z * (ALPHA + SLANT), -np.ones(4))
        assert abs(grown) < 3 / z**0.9


def _step(f, W, u, h):
    U = np.zeros((4, u.size))
    matrix = np.linalg.inv(np.eye(u.size) / (GAMMA * h) - W)
    for s in range(4):
        U[s] = matrix @ (f(u + STEP[s, :s] @ U[:s]) + PULL[s, :s] @ U[:s] / h)
    return u + LAST @ U, ERROR @ U


@pytest.mark.parametrize("known", [1.0, 0.7, 0.0])
def test_third_order_whatever_the_matrix(known):
    def f(u):
        return np.array([u[1], 2.0 * (1 - u[0] ** 2) * u[1] - u[0]])

    def end(steps):
        u = np.array([2.0, 0.0])
        for _ in range(steps):
            jacobian = np.array([[0.0, 1.0], [-4.0 * u[0] * u[1] - 1.0, 2.0 * (1 - u[0] ** 2)]])
            u, _ = _step(f, known * jacobian, u, 1.0 / steps)
        return u

    exact = end(4000)
    errors = [np.abs(end(n) - exact).max() for n in (50, 100, 200)]
    assert np.log2(errors[0] / errors[2]) / 2 == pytest.approx(3.0, abs=0.25)


def test_error_estimate_follows_the_error():
    rate = np.array([-0.5])
    for h in (0.5, 0.25):
        u, e = _step(lambda u: rate * u, np.diag(rate), np.array([1.0]), h)
        assert abs(u[0] - np.exp(-0.5 * h)) < abs(e[0]) < 0.02
