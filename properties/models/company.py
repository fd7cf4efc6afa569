"""The one company that an installation serves."""

from __future__ import annotations

import zoneinfo
from typing import Final

from django.core.exceptions import ValidationError
from django.db import models

from properties.models.checks import one_of
from properties.models.rows import Row

UNIT_SYSTEMS: Final[list[tuple[str, str]]] = [("us", "US customary"), ("metric", "Metric")]


def check_time_zone(name: str) -> None:
    """Refuse a name that is not in the IANA time zone database."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError(
            f"'{name}' is not an IANA time zone. Use a name such as America/Chicago.",
            code="time-zone",
        )


class Company(Row):
    """The company: its name on paper, its units, its clock and its money."""

    name = models.CharField(max_length=200)
    contact_line = models.CharField(
        max_length=200, blank=True, help_text="Printed under the name on documents."
    )
    units = models.CharField(max_length=10, choices=UNIT_SYSTEMS, default="us")
    time_zone = models.CharField(
        max_length=64, default="America/Chicago", validators=[check_time_zone]
    )
    currency = models.CharField(max_length=3, default="USD", help_text="ISO 4217 code.")
    is_only = models.BooleanField(default=True, unique=True, editable=False)

    class Meta:
        verbose_name_plural = "company"
        constraints = [
            one_of("units", UNIT_SYSTEMS),
            models.CheckConstraint(condition=models.Q(is_only=True), name="company_is_only"),
        ]

    def __str__(self) -> str:
        return self.name
