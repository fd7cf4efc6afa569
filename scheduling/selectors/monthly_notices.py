"""Whom a monthly notice is due for, and what it is made of."""

from __future__ import annotations

import datetime as dt
import logging
from collections import defaultdict
from collections.abc import Iterator
from itertools import islice
from typing import Final
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q, QuerySet

from properties.domain.errors import DomainError
from properties.domain.units import System
from properties.models import Property
from scheduling.domain.monthly_facts import MonthlyFacts
from scheduling.domain.monthly_notice import may_begin, month_before, period_due
from scheduling.models import Notice, NoticeKind
from scheduling.selectors.monthly_controllers import GardensRead
from scheduling.selectors.night_inputs import newest_plans

logger = logging.getLogger(__name__)

PROPERTIES_AT_ONCE: Final = 50


def due_properties(now: dt.datetime) -> Iterator[tuple[dt.date, QuerySet[Property]]]:
    """Yield each month that is due somewhere, with the properties that have no notice of it yet.

    The day is that of the property's own clock. A client without consent is none of them; who was
    not told of the month before waits for the next notice if that is near.
    """
    zones = Property.objects.order_by().values_list("time_zone", flat=True).distinct()
    by_period: dict[dt.date, list[str]] = defaultdict(list)
    open_to_all: dict[dt.date, list[str]] = defaultdict(list)
    for name in zones:
        today = now.astimezone(ZoneInfo(name)).date()
        by_period[period_due(today)].append(name)
        if may_begin(today):
            open_to_all[period_due(today)].append(name)
    for period, names in sorted(by_period.items()):
        planned = newest_plans().filter(zone__property=OuterRef("pk"))
        may_hear = Q(time_zone__in=open_to_all[period]) | Q(Exists(_told_of(month_before(period))))
        yield (
            period,
            Property.objects.filter(
                may_hear,
                ~Exists(_told_of(period)),
                Exists(planned),
                time_zone__in=names,
                customer__wants_notices=True,
                retired_at__isnull=True,
                customer__retired_at__isnull=True,
            ),
        )


def period_due_for(property_: Property, now: dt.datetime) -> dt.date:
    """Return the month that the next notice of a property is about."""
    today = now.astimezone(ZoneInfo(property_.time_zone)).date()
    before = month_before(period_due(today))
    told = Notice.objects.filter(
        property=property_, kind=NoticeKind.MONTHLY, period__in=(before, period_due(today))
    )
    return period_due(today, is_first=not told.exists())


def monthly_facts(
    properties: QuerySet[Property], period: dt.date, now: dt.datetime
) -> Iterator[tuple[Property, MonthlyFacts]]:
    """Yield what the notice of each property is made of, a bounded number read at a time."""
    ids = iter(list(properties.order_by("pk").values_list("pk", flat=True)))
    while some := list(islice(ids, PROPERTIES_AT_ONCE)):
        rows = Property.objects.filter(pk__in=some).select_related("customer").order_by("pk")
        read = GardensRead(some, period)
        for property_ in rows:
            try:
                facts = read.facts(property_, now)
            except (LookupError, TypeError, ValueError, DomainError):  # a plan that is none
                logger.exception("no monthly notice of the property %s", property_.pk)
                continue
            if facts is not None:
                yield property_, facts


def reader_units(property_: Property, company_units: str) -> System:
    """Return the units that the client of a property reads."""
    return "metric" if (property_.customer.units or company_units) == "metric" else "us"


def _told_of(period: dt.date) -> QuerySet[Notice]:
    return Notice.objects.filter(property=OuterRef("pk"), kind=NoticeKind.MONTHLY, period=period)
