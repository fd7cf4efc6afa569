"""Whom a monthly notice is due for, and what it is made of."""

from __future__ import annotations

import datetime as dt
import logging
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, QuerySet

from audits.models import ProgramSetting
from audits.models.program_settings import SettingSource
from properties.domain.units import System
from properties.models import Property
from scheduling.domain.monthly_notice import (
    ControllerSteps,
    MonthlyFacts,
    ZoneStep,
    period_due,
)
from scheduling.domain.setting_words import setting_words
from scheduling.models import Notice, NoticeKind, WateringPlan
from scheduling.selectors.night_inputs import newest_plans

logger = logging.getLogger(__name__)

PROPERTIES_AT_ONCE: Final = 50
_NO_CONTROLLER: Final = "By hand"


def due_properties(now: dt.datetime) -> Iterator[tuple[dt.date, QuerySet[Property]]]:
    """Yield each month that is due somewhere, with the properties that have no notice of it yet.

    The day is that of the property's own clock. A client without consent is none of them.
    """
    zones = Property.objects.order_by().values_list("time_zone", flat=True).distinct()
    by_period: dict[dt.date, list[str]] = defaultdict(list)
    for name in zones:
        by_period[period_due(now.astimezone(ZoneInfo(name)).date())].append(name)
    for period, names in sorted(by_period.items()):
        told = Notice.objects.filter(
            property=OuterRef("pk"), kind=NoticeKind.MONTHLY, period=period
        )
        planned = newest_plans().filter(zone__property=OuterRef("pk"))
        yield (
            period,
            Property.objects.filter(
                ~Exists(told), Exists(planned), time_zone__in=names, customer__wants_notices=True
            ),
        )


def monthly_facts(
    properties: QuerySet[Property], period: dt.date
) -> Iterator[tuple[Property, MonthlyFacts]]:
    """Yield what the notice of each property is made of, a bounded number read at a time."""
    ids = iter(list(properties.order_by("pk").values_list("pk", flat=True)))
    while some := list(islice(ids, PROPERTIES_AT_ONCE)):
        rows = Property.objects.filter(pk__in=some).select_related("customer").order_by("pk")
        plans = _plans_of(some)
        himself = _set_by_clients(some)
        for property_ in rows:
            try:
                facts = _facts(property_, plans[property_.pk], himself, period)
            except (LookupError, TypeError, ValueError):  # a plan that is not what it should be
                logger.exception("no monthly notice of the property %s", property_.pk)
                continue
            yield property_, facts


def reader_units(property_: Property, company_units: str) -> System:
    """Return the units that the client of a property reads."""
    return "metric" if (property_.customer.units or company_units) == "metric" else "us"


def _plans_of(property_ids: Sequence[UUID]) -> dict[UUID, list[WateringPlan]]:
    plans: dict[UUID, list[WateringPlan]] = defaultdict(list)
    rows = newest_plans().filter(zone__property__in=property_ids)
    for plan in rows.select_related("zone__controller").order_by("zone__number", "zone_id"):
        plans[plan.zone.property_id].append(plan)
    return plans


def _set_by_clients(property_ids: Sequence[UUID]) -> dict[UUID, dt.date]:
    """Return the controllers whose newest setting the client told of, and since when."""
    rows = ProgramSetting.objects.filter(controller__property__in=property_ids)
    newest: dict[UUID, ProgramSetting] = {}
    for setting in rows.order_by("since", "id"):
        newest[setting.controller_id] = setting
    return {
        controller: setting.since
        for controller, setting in newest.items()
        if setting.source == SettingSource.TOLD_BY_CLIENT
    }


def _facts(
    property_: Property,
    plans: Sequence[WateringPlan],
    himself: dict[UUID, dt.date],
    period: dt.date,
) -> MonthlyFacts:
    before = (period.month - 2) % 12
    by_controller: dict[Any, list[ZoneStep]] = defaultdict(list)
    for plan in plans:
        by_controller[plan.zone.controller].append(_step(plan, before, period.month - 1))
    return MonthlyFacts(
        property_id=str(property_.pk),
        place=property_.name,
        first=period,
        et0_before_mm=plans[0].months[before]["et0_mm_day"],
        et0_mm=plans[0].months[period.month - 1]["et0_mm_day"],
        controllers=tuple(
            ControllerSteps(
                controller.name if controller else _NO_CONTROLLER,
                tuple(steps),
                himself.get(controller.pk) if controller else None,
            )
            for controller, steps in by_controller.items()
        ),
    )


def _step(plan: WateringPlan, before: int, now: int) -> ZoneStep:
    return ZoneStep(
        f"{plan.zone.number} {plan.zone.name}",
        setting_words(plan.months[before]),
        setting_words(plan.months[now]),
        plan.is_estimated,
    )
