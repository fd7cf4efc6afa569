"""Asking for the weather of a night: the days before and after it, where a source is set.

Stations that no plan goes by are asked for too: they fill the gaps of others, and gardens without
a plan hear of frost by them.
"""

from __future__ import annotations

import datetime as dt
from typing import Final

from properties.domain.errors import RefusedError
from properties.services.jobs import ask_for_each
from scheduling.models import WeatherStation
from scheduling.services import forecast_sources, observation_sources
from scheduling.services.job_kinds import FORECAST, OBSERVATIONS
from scheduling.services.source_addresses import SourceSetting

KINDS: Final = (
    (OBSERVATIONS, observation_sources.SETTING),
    (FORECAST, forecast_sources.SETTING),
)


def ask_for_weather(*, now: dt.datetime) -> bool:
    """Ask for all that sources are set for; tell whether there is anything to wait for."""
    stations = list(WeatherStation.objects.filter(retired_at=None).order_by("pk"))
    asked = 0
    for kind, setting in KINDS:
        served = [station.pk for station in stations if _is_served(setting, station.code)]
        if served:
            asked += len(ask_for_each(kind, served, now=now))
    return asked > 0


def _is_served(setting: SourceSetting, code: str) -> bool:
    """Tell whether a station has a source; of a setting that is wrong its job shall tell."""
    try:
        return setting.source_for(code) is not None
    except RefusedError:
        return True
