"""The names of this app's background jobs."""

from __future__ import annotations

from typing import Final

PLANS_AFTER_VISIT: Final = "plans-after-visit"
PLANS_OF_PROPERTY: Final = "plans-of-property"
CALIBRATE_STATION: Final = "calibrate-station"
REFIT_STATION: Final = "refit-station"
FIT_PROGRAMS: Final = "fit-programs"
FIT_PROGRAMS_BY_PERCENT: Final = "fit-programs-by-percent"
FIT_PROPERTY: Final = "fit-property"
FIT_PROPERTY_BY_PERCENT: Final = "fit-property-by-percent"
FORECAST: Final = "forecast"
WEATHER_FILE: Final = "weather_file"
OBSERVATIONS: Final = "observations"
MONTHLY_NOTICES: Final = "monthly-notices"
NIGHT_AGAIN: Final = "night-again"
NIGHT_NEWS: Final = "night-news"
NIGHT_START: Final = "night-start"
NIGHT_SLICE: Final = "night-slice"
REMINDERS: Final = "reminders"
REPLAY: Final = "replay"
