"""A mixed-integer linear model, built column by column, and the stop rule of its solver."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array

LEAST_SECONDS: Final = 0.01  # the solver takes nought for no limit at all


@dataclass(frozen=True)
class Stop:
    """When the search gives up: seconds of it all, nodes of each solver's tree, and rounds.

    Only the seconds depend on the machine; give enough of them and the same input finds the same
    fit.
    """

    seconds: float = 1.7
    nodes: int = 20_000
    rounds: int = 20


@dataclass(frozen=True)
class Deadline:
    """A stop rule whose seconds have begun to run; all solver calls of a fit share it.

    It reads a clock, as the solver's own limit does: nothing but when to stop depends on it.
    """

    stop: Stop
    ends_at: float

    @classmethod
    def of(cls, stop: Stop) -> Deadline:
        """Let the seconds run from now on."""
        return cls(stop, time.monotonic() + stop.seconds)

    @property
    def left_s(self) -> float:
        """The seconds that are left."""
        return max(self.ends_at - time.monotonic(), 0.0)

    @property
    def is_over(self) -> bool:
        """Whether no time is left for another solver call."""
        return self.left_s <= LEAST_SECONDS

    def part(self, share: float, *, least_s: float = 0.0) -> Deadline:
        """Return a deadline that ends when this share of what is left, or the least, is used up."""
        now = time.monotonic()
        return replace(self, ends_at=now + max(share * (self.ends_at - now), least_s))


@dataclass(frozen=True)
class Solution:
    """The best values found, None without any, and the cost that no values can undercut.

    `prices` says of a relaxed solution what the cost would fall by for a unit more of each row.
    """

    values: NDArray[np.float64] | None
    bound: float
    is_optimal: bool
    prices: NDArray[np.float64] | None = None


@dataclass
class _Entries:
    """The terms of all rows, one after the other."""

    rows: list[int] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)


@dataclass
class LinearModel:
    """The columns and rows so far."""

    costs: list[float] = field(default_factory=list)
    lows: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lows: list[float] = field(default_factory=list)
    row_highs: list[float] = field(default_factory=list)
    entries: _Entries = field(default_factory=_Entries)

    def column(
        self, cost: float = 0.0, low: float = 0.0, high: float = 1.0, *, whole: bool = True
    ) -> int:
        """Add a column and return its number."""
        self.costs.append(cost)
        self.lows.append(low)
        self.highs.append(high)
        self.whole.append(whole)
        return len(self.costs) - 1

    def row(self, terms: Mapping[int, float], high: float, *, low: float = -math.inf) -> int:
        """Add low <= sum of the terms <= high and return its number."""
        number = len(self.row_lows)
        self.row_lows.append(low)
        self.row_highs.append(high)
        self.entries.rows += [number] * len(terms)
        self.entries.columns += terms.keys()
        self.entries.values += terms.values()
        return number

    def matrix(self) -> csr_array:
        """Return the terms of all rows."""
        at = (self.entries.rows, self.entries.columns)
        shape = (len(self.row_lows), len(self.costs))
        return csr_array((self.entries.values, at), shape=shape, dtype=np.float64)

    def solve(self, deadline: Deadline, *, rel_gap: float = 0.0) -> Solution:
        """Return the cheapest values, or such as are within a gap of them."""
        found = milp(
            np.array(self.costs),
            integrality=np.array(self.whole, dtype=int),
            bounds=Bounds(np.array(self.lows), np.array(self.highs)),
            constraints=LinearConstraint(self.matrix(), self.row_lows, self.row_highs),
            options={
                "time_limit": max(deadline.left_s, LEAST_SECONDS),
                "node_limit": deadline.stop.nodes,
                "mip_rel_gap": rel_gap,
            },
        )
        exact = found.status == 0 and rel_gap == 0.0
        bound = found.fun if exact else found.mip_dual_bound
        return Solution(found.x, -math.inf if bound is None else float(bound), exact)

    def solve_relaxed(self, deadline: Deadline) -> Solution:
        """Return the cheapest values where fractions are let pass, with the prices of the rows."""
        matrix, highs = self.matrix(), np.array(self.row_highs)
        same = highs == self.row_lows
        found = linprog(
            np.array(self.costs),
            A_ub=matrix[~same],
            b_ub=highs[~same],
            A_eq=matrix[same],
            b_eq=highs[same],
            bounds=np.column_stack([self.lows, self.highs]),
            options={"time_limit": max(deadline.left_s, LEAST_SECONDS)},
        )
        if found.status != 0:
            return Solution(None, -math.inf, is_optimal=False)
        prices = np.zeros(len(highs))
        prices[~same], prices[same] = -found.ineqlin.marginals, -found.eqlin.marginals
        return Solution(found.x, float(found.fun), is_optimal=True, prices=prices)
