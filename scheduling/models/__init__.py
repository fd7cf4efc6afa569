from scheduling.models.advice import PropertyAdvice
from scheduling.models.forecasts import ForecastDay, ForecastDocument, ForecastFetch, ForecastStyle
from scheduling.models.nights import NightRun, NightSlice, NightState, PlanMonth, ZoneOutlook
from scheduling.models.notices import MailDay, Notice, NoticeKind, NoticeState
from scheduling.models.observations import ObservationFetch, ObservationStyle
from scheduling.models.plans import WateringPlan
from scheduling.models.programs import ControllerProgram, Replay
from scheduling.models.reminders import (
    LIVE_REMINDER_STATES,
    Reminder,
    ReminderDay,
    ReminderRule,
    ReminderState,
)
from scheduling.models.weather import StationCalibration, WeatherDay, WeatherStation
from scheduling.models.weather_files import WeatherFile

__all__ = [
    "LIVE_REMINDER_STATES",
    "ControllerProgram",
    "ForecastDay",
    "ForecastDocument",
    "ForecastFetch",
    "ForecastStyle",
    "MailDay",
    "NightRun",
    "NightSlice",
    "NightState",
    "Notice",
    "NoticeKind",
    "NoticeState",
    "ObservationFetch",
    "ObservationStyle",
    "PlanMonth",
    "PropertyAdvice",
    "Reminder",
    "ReminderDay",
    "ReminderRule",
    "ReminderState",
    "Replay",
    "StationCalibration",
    "WateringPlan",
    "WeatherDay",
    "WeatherFile",
    "WeatherStation",
    "ZoneOutlook",
]
