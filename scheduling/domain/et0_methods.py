"""The words for how the ET0 of a day was computed."""

from __future__ import annotations

from enum import StrEnum


class Et0Method(StrEnum):
    """From the least to the most that a station must measure."""

    HARGREAVES = "hargreaves"
    """Temperatures alone."""
    CALIBRATED = "calibrated"
    """Temperatures alone, brought to what the station's fuller days gave."""
    PENMAN_MONTEITH = "penman_monteith"
    """Temperatures, humidity and wind; sunshine measured, or estimated from the temperatures."""
