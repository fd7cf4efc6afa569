"""Fetch the observed days of all stations, by hand or from a timetable."""

from __future__ import annotations

import logging
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from properties.domain.errors import DomainError
from scheduling.models import WeatherStation
from scheduling.services.observation_sources import is_configured
from scheduling.services.observations import ObservationOutcome, fetch_observations

logger = logging.getLogger(__name__)

NO_SOURCE = "no-observation-source"


class Command(BaseCommand):
    help = (
        "Fetch the days that are missing, and the newest ones again, of every station that has a"
        " source. One failure does not stop the others; the exit status tells of it."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--station", help="The code of one station; all without it.")

    def handle(self, *args: Any, **options: Any) -> None:
        if not is_configured():
            self.stdout.write(
                "Observations are off: the setting OBSERVATION_SOURCES names no source."
            )
            return
        stations = self._stations(options["station"])
        failed = [station.code for station in stations if not self._is_fetched(station)]
        if failed:
            raise CommandError(f"{len(failed)} of {len(stations)} failed: {', '.join(failed)}.")

    def _stations(self, code: str | None) -> list[WeatherStation]:
        stations = WeatherStation.objects.order_by("code")
        if code is None:
            return list(stations.filter(retired_at=None))
        found = list(stations.filter(code=code))
        if not found:
            raise CommandError(f"No station has the code {code}.")
        return found

    def _is_fetched(self, station: WeatherStation) -> bool:
        """Fetch one and say how it went; a station without a source is no failure."""
        try:
            outcome = fetch_observations(station, now=timezone.now())
        except DomainError as refusal:
            self.stdout.write(f"{station.code}: {refusal}")
            return refusal.code == NO_SOURCE
        except Exception as error:  # one station must not stop the others
            logger.exception("observations of %s broke", station.code)
            self.stdout.write(f"{station.code}: broke ({type(error).__name__}).")
            return False
        self.stdout.write(f"{station.code}: {_words(outcome)} {outcome.problem}".rstrip())
        return outcome.is_good


def _words(outcome: ObservationOutcome) -> str:
    if not outcome.is_good:
        return f"{outcome.code}."
    return (
        f"{outcome.added} days added, {outcome.changed} changed, {outcome.corrected} of them"
        " corrected."
    )
