"""Putting weather stations right."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from django.db import transaction

from properties.domain.errors import RefusedError
from properties.models import StaffMember
from properties.services.rows import change_what_differs
from scheduling.models import WeatherStation

# The ET0 of every stored day was computed with these.
SITE: Final = ("latitude", "longitude", "elevation_m", "anemometer_height_m", "is_coastal")


@transaction.atomic
def change_station(
    station: WeatherStation,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: dt.datetime,
) -> WeatherStation:
    """Change a station; where it stands only before it has days, for their ET0 rests on it."""
    held = WeatherStation.objects.select_for_update(no_key=True).get(pk=station.pk)
    moved = [name for name in SITE if name in changes and getattr(held, name) != changes[name]]
    if moved and held.days.exists():
        raise RefusedError(
            f"{held} has stored days, whose ET0 was computed with the site as it is.",
            code="station-has-days", field=moved[0],
            remedy="Retire this station, and register the right one under its own code.",
        )  # fmt: skip
    return change_what_differs(held, changes, read_revision=read_revision, actor=actor, now=now)
