from scheduling.admin import (
    controller_programs,
    forecasts,
    notices,
    observations,
    plans,
    reminders,
    replays,
    weather,
    weather_files,
)

__all__ = [
    "controller_programs",
    "forecasts",
    "notices",
    "observations",
    "plans",
    "reminders",
    "replays",
    "weather",
    "weather_files",
]
