"""What the pattern of the cups says beside their uniformity."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

# A quarter of fewer cups is one or two of them, and those lie anywhere.
MIN_CUPS_FOR_PATTERN: Final = 12


def dry_cups_closeness(
    depths_mm: tuple[float, ...], positions_m: tuple[tuple[float, float], ...]
) -> float | None:
    """Return how close the driest quarter of the cups lies together.

    Parameters
    ----------
    depths_mm : depth in each cup [mm], at least 12.
    positions_m : place (x, y) of each cup [m].

    Returns
    -------
    mean distance between the dry cups over mean distance between all; about 1 where they lie
    anywhere. None where it cannot be told.
    """
    cups = len(depths_mm)
    if cups < MIN_CUPS_FOR_PATTERN or len(positions_m) != cups:
        return None
    places = np.asarray(positions_m, dtype=np.float64)
    order = np.lexsort((places[:, 1], places[:, 0], np.asarray(depths_mm)))
    all_m = _mean_distance_m(places)
    return _mean_distance_m(places[order[: round(cups / 4)]]) / all_m if all_m else None


def depth_ratio_of_wettest(depths_mm: tuple[float, ...]) -> float | None:
    """Return the wettest cup over the median cup; None for under 12 cups or a dry median."""
    median = float(np.median(depths_mm)) if len(depths_mm) >= MIN_CUPS_FOR_PATTERN else 0.0
    return max(depths_mm) / median if median else None


def _mean_distance_m(places_m: NDArray[np.float64]) -> float:
    away = places_m[:, None, :] - places_m[None, :, :]
    cups = len(places_m)
    return float(np.hypot(away[..., 0], away[..., 1]).sum() / (cups * (cups - 1)))
