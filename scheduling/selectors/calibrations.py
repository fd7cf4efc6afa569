"""Reading the calibration of a station."""

from __future__ import annotations

from properties.domain.errors import RefusedError
from scheduling.models import StationCalibration, WeatherStation


def calibration_of(station: WeatherStation) -> StationCalibration:
    """Return a station's calibration, or refuse with what makes one."""
    calibration = StationCalibration.objects.filter(station=station).first()
    if calibration is None:
        raise RefusedError(
            f"The station {station.code} has no calibration.",
            code="no-calibration", field="station",
            remedy="Import days with humidity and wind, then have it calibrated.",
        )  # fmt: skip
    return calibration
