"""The fewest amounts to move so that linear goals are met: exact up to three, by pruning beyond.

SciPy's linear programs do the arithmetic. Its mixed-integer solver would be shorter, but it writes to the process's
standard output now and then, where a command with ``--json`` cannot have it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from bloomless.errors import NumericalFailure

__all__ = ["FewestMoves"]

Array = NDArray[np.float64]
EXACT_UP_TO: Final = 3
DEAR: Final = 1.4
"""Moving something new counts as so much more than moving something there is."""
PER_UNMET: Final = 1e3
ZERO: Final = 1e-9
UNMET: Final = 1e-7


@dataclass(frozen=True, slots=True)
class FewestMoves:
    """``low ≤ slope·x ≤ high``, ``least ≤ x ≤ most``, ``Σx = 0``; wanted is the x with the fewest entries.

    Among equally few, those with fewer dear entries come first, then those that move least.
    """

    slope: Array
    """One row a goal, one column an amount."""
    low: Array
    high: Array
    least: Array
    most: Array
    dear: NDArray[np.bool_]

    def fewest(self) -> tuple[tuple[int, ...], Array]:
        """The amounts that move and by how much; if no move meets the goals, the one that misses them least."""
        movable = tuple(int(i) for i in np.flatnonzero(self.most - self.least > ZERO))
        whole, missed = self._program(movable, np.ones(len(self.least)))
        if missed > UNMET:
            return movable, whole
        for size in range(2, min(EXACT_UP_TO, len(movable)) + 1):
            best = self._best_of(s for s in combinations(movable, size) if self._may_do(s))
            if best is not None:
                return best
        return self._pruned(whole)

    def fewest_moves_in(self, support: tuple[int, ...]) -> Array | None:
        """How much to move if only these may; None if they cannot meet the goals."""
        moves, missed = self._program(support, np.ones(len(self.least)))
        return moves if missed <= UNMET else None

    def _best_of(self, supports: Iterable[tuple[int, ...]]) -> tuple[tuple[int, ...], Array] | None:
        best: tuple[float, tuple[int, ...], Array] | None = None
        for support in supports:
            moves = self.fewest_moves_in(support)
            if moves is None:
                continue
            cost = float(self.dear[list(support)].sum()) + np.abs(moves).sum()
            if best is None or cost < best[0]:
                best = (cost, support, moves)
        return None if best is None else (best[1], best[2])

    def _may_do(self, support: tuple[int, ...]) -> bool:
        """False if even the extremes of these amounts, the sum forgotten, miss a goal: saves most of the programs."""
        columns = list(support)
        ends = np.stack([self.slope[:, columns] * self.least[columns], self.slope[:, columns] * self.most[columns]])
        reach_high, reach_low = ends.max(axis=0).sum(axis=1), ends.min(axis=0).sum(axis=1)
        return bool(np.all(reach_high >= self.low - UNMET) and np.all(reach_low <= self.high + UNMET))

    def _pruned(self, start: Array) -> tuple[tuple[int, ...], Array]:
        """Weigh small moves down until they vanish, then leave out one after the other while the goals allow it."""
        moves = start
        for _ in range(5):
            weights = np.where(self.dear, DEAR, 1.0) / (np.abs(moves) + 0.01)
            moves, _ = self._program(tuple(int(i) for i in np.flatnonzero(np.abs(moves) > ZERO)), weights)
        support = tuple(int(i) for i in np.flatnonzero(np.abs(moves) > ZERO))
        for number in sorted(support, key=lambda i: abs(moves[i])):
            fewer = tuple(i for i in support if i != number)
            without = self.fewest_moves_in(fewer)
            if without is not None:
                support, moves = fewer, without
        return support, moves

    def _program(self, support: tuple[int, ...], weights: Array) -> tuple[Array, float]:
        """Least weighted move within a support, and by how much the goals are missed."""
        columns, goals = list(support), len(self.low)
        n = len(columns)
        slope = self.slope[:, columns]
        both = np.hstack([slope, -slope])
        bounded_below, bounded_above = np.isfinite(self.low), np.isfinite(self.high)
        slack = np.eye(goals)
        rows = np.vstack(
            [
                np.hstack([-both, -slack])[bounded_below],
                np.hstack([both, -slack])[bounded_above],
            ]
        )
        limits = np.concatenate([-self.low[bounded_below], self.high[bounded_above]])
        found = linprog(
            np.concatenate([np.tile(weights[columns], 2), np.full(goals, PER_UNMET)]),
            A_ub=rows,
            b_ub=limits,
            A_eq=np.concatenate([np.ones(n), -np.ones(n), np.zeros(goals)])[None, :],
            b_eq=[0.0],
            bounds=[(0.0, m) for m in [*self.most[columns], *-self.least[columns]]] + [(0.0, None)] * goals,
        )
        if found.x is None:
            raise NumericalFailure("The rebalancing came to no answer; try fewer goals.")
        moves = np.zeros(len(self.least))
        moves[columns] = found.x[:n] - found.x[n : 2 * n]
        return moves, float(found.x[2 * n :].sum())
