"""A lawn under sprinklers, from physics alone: what falls where, and what the meter sees.

Water of one head is spread over its arc by a beta profile along the radius; the flow of a nozzle
follows the square root of the pressure; the pressure is where supply and nozzles meet. Nothing
here knows of the diagnosis.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from properties.domain.site import HeadKind

Points = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Head:
    """One head as it really is; `listed_*` is what its nozzle ought to do at rated pressure.

    The profile is u**rise * (1 - u)**fall over the share u of its reach: (0, 1) is a cone, a high
    rise a ring, a high fall a heap at the head. `lean` shortens the reach towards `lean_to`.
    """

    x_m: float
    y_m: float
    facing: float
    arc: float
    listed_flow_l_min: float
    listed_throw_m: float
    listed_arc_deg: float
    kind: HeadKind
    opening: float = 1.0
    reach: float = 1.0
    rise: float = 0.1
    fall: float = 1.0
    lean: float = 0.0
    lean_to: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Lawn:
    """A zone: its heads on a rectangle, its supply and its losses."""

    width_m: float
    depth_m: float
    spacing_m: float
    heads: tuple[Head, ...]
    rated_kpa: float
    static_kpa: float
    # Loss of the supply at 1 L/min; it grows with the flow to the power of 1.852.
    supply_loss: float
    leak: float = 0.0
    drift: float = 0.05
    wind_m_s: float = 0.0
    wind_to: float = 0.0

    @property
    def area_m2(self) -> float:
        return self.width_m * self.depth_m

    def nozzle_flow_l_min(self, kpa: float) -> float:
        return sum(h.listed_flow_l_min * h.opening for h in self.heads) * math.sqrt(
            kpa / self.rated_kpa
        )

    def leak_flow_l_min(self, kpa: float) -> float:
        return self.leak * math.sqrt(kpa / self.rated_kpa)

    def total_flow_l_min(self, kpa: float) -> float:
        return self.nozzle_flow_l_min(kpa) + self.leak_flow_l_min(kpa)

    def running_kpa(self) -> float:
        """Return where the supply curve and the nozzles meet, by bisection."""
        low, high = 1.0, self.static_kpa
        for _ in range(60):
            middle = (low + high) / 2
            if self.static_kpa - self.supply_loss * self.total_flow_l_min(middle) ** 1.852 > middle:
                low = middle
            else:
                high = middle
        return low

    def rates_mm_h(self, places: Points) -> Points:
        """Return the rate that falls on each place (x, y) [m]."""
        kpa = self.running_kpa()
        return np.sum([self._head_rate(head, kpa, places) for head in self.heads], axis=0)

    def mean_rate_mm_h(self) -> float:
        """Return the mean rate over the whole lawn."""
        x, y = np.meshgrid(
            (np.arange(40) + 0.5) / 40 * self.width_m, (np.arange(40) + 0.5) / 40 * self.depth_m
        )
        return float(self.rates_mm_h(np.stack([x.ravel(), y.ravel()], axis=1)).mean())

    def _head_rate(self, head: Head, kpa: float, places: Points) -> Points:
        ratio = kpa / self.rated_kpa
        rise, fall, drift = _shape_at(head, ratio, self.drift, self.wind_m_s)
        # Wind carries the far drops most; the pattern as a whole moves by a part of its reach.
        reach = head.listed_throw_m * head.reach * _throw_factor(ratio)
        carried = 0.03 * self.wind_m_s * reach * max(1.0, ratio)
        dx = places[:, 0] - head.x_m - carried * math.cos(self.wind_to)
        dy = places[:, 1] - head.y_m - carried * math.sin(self.wind_to)
        radius, angle = np.hypot(dx, dy), np.arctan2(dy, dx)
        off = np.abs((angle - head.facing + math.pi) % (2 * math.pi) - math.pi)
        reaches = reach * (1.0 - head.lean * np.cos(angle - head.lean_to))
        u = np.clip(radius / reaches, 1e-6, 1.0)
        share = u**rise * (1.0 - u) ** fall / _beta(rise + 2.0, fall + 1.0)
        flow = head.listed_flow_l_min * head.opening * math.sqrt(ratio) * (1.0 - drift)
        rate: Points = np.where(off <= head.arc / 2, 60 * flow / head.arc * share / reaches**2, 0.0)
        return rate


def _throw_factor(ratio: float) -> float:
    # Throw grows slowly with pressure and shrinks again once the jet breaks into mist.
    return min(ratio, 1.2) ** 0.4 - 0.1 * max(0.0, ratio - 1.2)


def _shape_at(head: Head, ratio: float, drift: float, wind: float) -> tuple[float, float, float]:
    """Return rise, fall, drift: too low a pressure leaves a ring, too high a heap and mist."""
    low, high = max(0.0, 0.85 - ratio), max(0.0, ratio - 1.2)
    rise = head.rise + 4.0 * low
    fall = head.fall + 1.2 * high - 0.8 * low
    return rise, max(0.4, fall), min(0.6, drift + high * (0.16 + 0.05 * wind))


def _beta(a: float, b: float) -> float:
    return math.gamma(a) * math.gamma(b) / math.gamma(a + b)
