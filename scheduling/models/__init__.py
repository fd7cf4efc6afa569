from scheduling.models.forecasts import ForecastDay, ForecastDocument, ForecastFetch, ForecastStyle
from scheduling.models.notices import MailDay, Notice, NoticeKind, NoticeState
from scheduling.models.plans import WateringPlan
from scheduling.models.programs import ControllerProgram, Replay
from scheduling.models.weather import StationCalibration, WeatherDay, WeatherStation
from scheduling.models.weather_files import WeatherFile

__all__ = [
    "ControllerProgram",
    "ForecastDay",
    "ForecastDocument",
    "ForecastFetch",
    "ForecastStyle",
    "MailDay",
    "Notice",
    "NoticeKind",
    "NoticeState",
    "Replay",
    "StationCalibration",
    "WateringPlan",
    "WeatherDay",
    "WeatherFile",
    "WeatherStation",
]
