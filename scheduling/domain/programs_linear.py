"""A mixed-integer linear model, built column by column, and the stop rule of its solver."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import (
    Bounds,
    LinearConstraint,
    milp,
)
from scipy.sparse import csr_array


@dataclass(frozen=True)
class Stop:
    """When the search gives up: seconds and nodes of the tree for each solve, and rounds of solves.

    Only the seconds depend on the machine; give enough of them and the same input finds the same
    fit.
    """

    seconds: float = 3.0
    nodes: int = 20_000
    rounds: int = 20


@dataclass(frozen=True)
class Solution:
    """The best values found, None without any, and the cost that no values can undercut."""

    values: NDArray[np.float64] | None
    bound: float
    is_optimal: bool


@dataclass
class LinearModel:
    """The columns and rows so far."""

    costs: list[float] = field(default_factory=list)
    lows: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)

    def column(
        self, cost: float = 0.0, low: float = 0.0, high: float = 1.0, *, whole: bool = True
    ) -> int:
        """Add a column and return its number."""
        self.costs.append(cost)
        self.lows.append(low)
        self.highs.append(high)
        self.whole.append(whole)
        return len(self.costs) - 1

    def row(self, terms: Mapping[int, float], high: float, *, low: float = -math.inf) -> None:
        """Add low <= sum of the terms <= high."""
        self.rows.append((dict(terms), low, high))

    def solve(self, stop: Stop, *, relaxed: bool = False) -> Solution:
        """Return the cheapest values; `relaxed` lets go of whole numbers, for a bound only."""
        entries = [(r, c, v) for r, (terms, _, _) in enumerate(self.rows) for c, v in terms.items()]
        row, column, value = zip(*entries, strict=True)
        matrix = csr_array(
            (value, (row, column)), shape=(len(self.rows), len(self.costs)), dtype=np.float64
        )
        lows, highs = ([r[side] for r in self.rows] for side in (1, 2))
        found = milp(
            np.array(self.costs),
            integrality=np.zeros(len(self.costs)) if relaxed else np.array(self.whole, dtype=int),
            bounds=Bounds(np.array(self.lows), np.array(self.highs)),
            constraints=LinearConstraint(matrix, np.array(lows), np.array(highs)),
            options={"time_limit": stop.seconds, "node_limit": stop.nodes, "mip_rel_gap": 0.0},
        )
        bound = found.fun if found.status == 0 else found.mip_dual_bound
        proven = found.status == 0
        return Solution(found.x, -math.inf if bound is None else float(bound), proven)
