"""Whom the news of a night is for."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Final
from uuid import UUID

from django.db.models import Exists, F, Max, OuterRef, Q, QuerySet

from audits.models import ProgramSetting
from audits.models.program_settings import SettingSource
from properties.models import Property, StagePeriod
from scheduling.domain.change_worth import Advice
from scheduling.domain.weather_notices import ZoneApart
from scheduling.models import Notice, NoticeKind, PlanMonth, PropertyAdvice, ZoneOutlook
from scheduling.selectors.garden_stations import stations_of_gardens

AT_ONCE: Final = 1000
HEAT_AGAIN_DAYS: Final = 10
"""A heat run whose beginning moves in the forecast is told once."""


def percents(after: UUID | None, at_most: int) -> list[tuple[UUID, int]]:
    """Return so many properties after an id whose clients want notices, with their percentage."""
    rows = ZoneOutlook.objects.filter(
        days_between__gt=0, zone__property__customer__wants_notices=True, zone__is_active=True
    )
    if after is not None:
        rows = rows.filter(zone__property__id__gt=after)
    found = rows.values(place=F("zone__property")).annotate(most=Max("percent")).order_by("place")
    return list(found.values_list("place", "most")[:at_most])


def advice_of(property_ids: Iterable[UUID]) -> dict[UUID, Advice]:
    """Return how things stand with clients; who is not there goes by what the month says."""
    rows = PropertyAdvice.objects.filter(property__in=list(property_ids))
    return {
        row.property_id: Advice(row.percent, row.since, row.is_more, row.looked_on) for row in rows
    }


def zones_apart(property_ids: Sequence[UUID], month: int) -> dict[UUID, list[ZoneApart]]:
    """Return the zones whose days between are others now than their plan of the month says."""
    months = PlanMonth.objects.filter(
        zone__property__in=property_ids, month=month, zone__is_active=True, need_per_et0__gt=0.0
    ).select_related("zone__outlook")
    found: dict[UUID, list[ZoneApart]] = defaultdict(list)
    for row in months.order_by("zone__number", "zone_id"):
        outlook = getattr(row.zone, "outlook", None)
        if row.days_between and outlook and outlook.days_between not in (0, row.days_between):
            label = f"{row.zone.number} {row.zone.name}"
            apart = ZoneApart(label, row.days_between, outlook.days_between)
            found[row.zone.property_id].append(apart)
    return found


def set_by_clients(property_ids: Sequence[UUID]) -> set[UUID]:
    """Return the properties with a controller whose newest setting the client told of."""
    newer = ProgramSetting.objects.filter(controller=OuterRef("controller")).filter(
        Q(since__gt=OuterRef("since")) | Q(since=OuterRef("since"), id__gt=OuterRef("id"))
    )
    rows = ProgramSetting.objects.filter(
        ~Exists(newer),
        controller__property__in=property_ids,
        source=SettingSource.TOLD_BY_CLIENT,
    )
    return set(rows.values_list("controller__property", flat=True))


def clients_of(property_ids: Sequence[UUID]) -> dict[UUID, UUID]:
    """Return the client of each property."""
    rows = Property.objects.filter(pk__in=property_ids)
    return dict(rows.values_list("pk", "customer_id"))


def told_since(client_ids: Iterable[UUID], since: dt.datetime) -> Counter[UUID]:
    """Return how many changes each client heard of since then."""
    rows = Notice.objects.filter(
        kind=NoticeKind.CHANGE, created_at__gte=since, customer__in=set(client_ids)
    )
    return Counter(client for client in rows.values_list("customer", flat=True) if client)


def properties_by_station(night: dt.date, now: dt.datetime) -> Iterator[tuple[UUID, list[UUID]]]:
    """Yield each station with the properties of it whose clients want notices, planned or not."""
    by_station: dict[UUID, list[UUID]] = defaultdict(list)
    wanting = Property.objects.filter(customer__wants_notices=True, retired_at=None)
    ids = list(wanting.order_by("pk").values_list("pk", flat=True))
    for start in range(0, len(ids), AT_ONCE):
        some = ids[start : start + AT_ONCE]
        for place, station in stations_of_gardens(some, today=night, now=now).items():
            by_station[station].append(place)
    yield from by_station.items()


def without_heat_notice(property_ids: Sequence[UUID], now: dt.datetime) -> QuerySet[Property]:
    """Return the properties of those that heard of no heat in the last days."""
    lately = Notice.objects.filter(
        property=OuterRef("pk"),
        kind=NoticeKind.HEAT,
        created_at__gt=now - dt.timedelta(days=HEAT_AGAIN_DAYS),
    )
    rows = Property.objects.filter(~Exists(lately), pk__in=property_ids)
    return rows.select_related("customer").order_by("pk")


def stages_on(today: dt.date) -> QuerySet[StagePeriod]:
    """Return the drought stages that are on at a date."""
    is_on = Q(last_date__isnull=True) | Q(last_date__gte=today)
    rows = StagePeriod.objects.filter(is_on, first_date__lte=today, is_void=False)
    return rows.select_related("stage__district").order_by("pk")


def untold_of_stage(period: StagePeriod) -> QuerySet[Property]:
    """Return the properties of a stage's district whose clients have not heard of it."""
    told = Notice.objects.filter(
        property=OuterRef("pk"), kind=NoticeKind.DROUGHT, key__contains=str(period.pk)
    )
    rows = Property.objects.filter(
        ~Exists(told),
        watering_district=period.stage.district,
        customer__wants_notices=True,
        retired_at__isnull=True,
    )
    return rows.select_related("customer").order_by("pk")
