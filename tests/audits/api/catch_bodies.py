"""Catch tests as they are sent, in each way of reading, and what they come to by plain sums."""

from __future__ import annotations

import math

DEPTHS_IN = [0.31, 0.29, 0.24, 0.13, 0.33, 0.34, 0.28, 0.12, 0.30, 0.32, 0.26, 0.22]
VOLUMES_ML = [47, 52, 41, 55, 38, 44, 50, 46]
RIM_IN2 = 16.5

# Second route: J. Irrig. Drain. Eng. 131(4), 2005: DU_lq of sprays 0.41; 1.27 standard deviations
# make the low quarter of a normal distribution; Student's t for 8 degrees of freedom, 5 % a side.
FIELD_CV = (1 - 0.41) / 1.27
T_90 = 1.8595


def expected_of(depths_mm, run_min):
    """Return what single cups say, by plain sums."""
    cups, mean = len(depths_mm), sum(depths_mm) / len(depths_mm)
    ordered = sorted(depths_mm)
    quarter, half = ordered[: math.floor(cups / 4 + 0.5)], ordered[: math.floor(cups / 2 + 0.5)]
    own = sum((depth / mean - 1) ** 2 for depth in depths_mm) / (cups - 1)
    field = 8 / (8 + cups - 1)
    spread = max(own, field * FIELD_CV**2 + (1 - field) * own)
    rate = mean / run_min * 60
    width = T_90 * math.sqrt(spread / cups)
    return {
        "mean_depth": mean, "rate": rate, "rate_low": rate * (1 - width),
        "rate_high": rate * (1 + width),
        "du_lq": sum(quarter) / len(quarter) / mean, "du_lh": sum(half) / len(half) / mean,
        "cu": 1 - sum(abs(depth - mean) for depth in depths_mm) / (cups * mean),
    }  # fmt: skip


def expected_of_pool(mean, run_min, cups):
    rate, width = mean / run_min * 60, T_90 * FIELD_CV / math.sqrt(cups)
    low, high = rate * (1 - width), rate * (1 + width)
    unknown = dict.fromkeys(("du_lq", "du_lh", "cu"))
    return {"mean_depth": mean, "rate": rate, "rate_low": low, "rate_high": high, **unknown}


RIM_CM2 = RIM_IN2 * 2.54**2
WAYS = {
    "depths": (
        {
            "run_min": 10, "cup_shape": "straight_walled",
            "depths": {"unit": "in", "values": DEPTHS_IN},
        },
        expected_of([inches * 25.4 for inches in DEPTHS_IN], 10),
    ),
    "volumes, one area": (
        {
            "run_min": 8, "cup_shape": "tapered", "volumes": {"unit": "mL", "values": VOLUMES_ML},
            "throat_areas": {"unit": "in2", "values": [RIM_IN2]},
        },
        expected_of([ml * 10 / RIM_CM2 for ml in VOLUMES_ML], 8),
    ),
    "volumes, an area each": (
        {
            "run_min": 8, "cup_shape": "tapered", "volumes": {"unit": "mL", "values": VOLUMES_ML},
            "throat_areas": {"unit": "cm2", "values": [100, 100.8, 100, 100, 100, 100, 100, 100]},
        },
        expected_of([ml * 10 / 100.1 for ml in VOLUMES_ML], 8),
    ),
    "pooled depth": (
        {
            "run_min": 30, "cup_shape": "straight_walled", "pooled_cups": 4,
            "pooled_depth": {"value": 0.9, "unit": "in"},
        },
        expected_of_pool(0.9 * 25.4 / 4, 30, 4),
    ),
    "pooled volume": (
        {
            "run_min": 10, "cup_shape": "tapered", "pooled_cups": 4,
            "pooled_volume": {"value": 270, "unit": "mL"},
            "throat_areas": {"unit": "in2", "values": [RIM_IN2]},
        },
        expected_of_pool(270 / 4 * 10 / RIM_CM2, 10, 4),
    ),
}  # fmt: skip
