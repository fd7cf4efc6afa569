from scheduling.models.forecasts import ForecastDay, ForecastDocument, ForecastFetch, ForecastStyle
from scheduling.models.plans import WateringPlan
from scheduling.models.weather import StationCalibration, WeatherDay, WeatherStation
from scheduling.models.weather_files import WeatherFile

__all__ = [
    "ForecastDay",
    "ForecastDocument",
    "ForecastFetch",
    "ForecastStyle",
    "StationCalibration",
    "WateringPlan",
    "WeatherDay",
    "WeatherFile",
    "WeatherStation",
]
