"""The one company that an installation serves."""

from __future__ import annotations

import zoneinfo
from datetime import date
from functools import lru_cache
from typing import Final

from django.core.exceptions import ValidationError
from django.db import models

from properties.models.checks import between, one_of
from properties.models.rows import Row

MOST_HOLIDAYS: Final = 500
UNIT_SYSTEMS: Final[list[tuple[str, str]]] = [("us", "US customary"), ("metric", "Metric")]


def check_time_zone(name: str) -> None:
    """Refuse a name that is not in the IANA time zone database."""
    if name not in _time_zones():
        raise ValidationError(
            f"'{name}' is not an IANA time zone. Use a name such as America/Chicago.",
            code="time-zone",
        )


@lru_cache(maxsize=1)
def _time_zones() -> set[str]:
    """Return all names; asking for them reads hundreds of files."""
    return zoneinfo.available_timezones()


def check_holidays(dates: object) -> None:
    """Refuse what is not a list of at most 500 different days, each written as 2026-12-25."""
    days = dates if isinstance(dates, list) else [None]
    wrong = [day for day in days if not _is_date(day)]
    if wrong:
        raise ValidationError(
            f"{wrong[0]!r} is not a day. Give a list of days such as 2026-12-25.", code="holidays"
        )
    if len(set(days)) < len(days) or len(days) > MOST_HOLIDAYS:
        raise ValidationError(
            f"Give each holiday once, {MOST_HOLIDAYS} of them at most.", code="holidays"
        )


def _is_date(day: object) -> bool:
    try:
        return isinstance(day, str) and date.fromisoformat(day).isoformat() == day
    except ValueError:
        return False


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
    digging_business_days = models.PositiveSmallIntegerField(
        default=2, db_default=2,
        help_text="From the notice to the line-marking service to the first digging.",
    )  # fmt: skip
    digging_longest_days = models.PositiveSmallIntegerField(
        default=14, db_default=14, help_text="How many calendar days such a notice holds."
    )
    holidays = models.JSONField(
        default=list, db_default=[], blank=True, validators=[check_holidays],
        help_text='Days that are no business days, such as ["2026-12-25"].',
    )  # fmt: skip
    leaves_room_for_rain = models.BooleanField(
        default=False, db_default=False,
        help_text="The running plan waters sooner and less, so that rain finds room in the roots.",
    )  # fmt: skip
    notices_paused_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="While set, no notice goes out."
    )
    is_only = models.BooleanField(default=True, unique=True, editable=False)

    class Meta:
        verbose_name_plural = "company"
        constraints = [
            one_of("units", UNIT_SYSTEMS),
            between("digging_business_days", 0, 30, words="the business days before digging"),
            between("digging_longest_days", 1, 90, words="the days that a notice holds"),
            models.CheckConstraint(
                condition=models.Q(digging_business_days__lte=models.F("digging_longest_days")),
                name="company_notice_holds_longer_than_it_takes",
                violation_error_message=(
                    "digging_longest_days: a notice must hold longer than it takes."
                ),
            ),
            models.CheckConstraint(condition=models.Q(is_only=True), name="company_is_only"),
        ]

    def __str__(self) -> str:
        return self.name
