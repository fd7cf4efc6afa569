"""What a night brings to clients: changes worth telling, heat, drought stages.

Changes are counted against the clients' month; heat and drought are urgent and are not. Each batch
is a transaction of its own, in which the state of the clients moves on together with their notices:
who dies leaves whole batches, and a second look at the same night changes nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction

from properties.domain.units import System
from properties.models import Company, Property, StagePeriod
from properties.services.job_subjects import subject_of
from scheduling.domain.change_worth import Advice, next_advice
from scheduling.domain.weather_notices import change_content, drought_content, heat_content
from scheduling.models import NightRun, NoticeKind, PropertyAdvice, WeatherStation
from scheduling.selectors.station_news import heat_at
from scheduling.selectors.weather_news import (
    advice_of,
    clients_of,
    percents,
    properties_by_station,
    set_by_clients,
    stages_on,
    told_since,
    untold_of_stage,
    without_heat_notice,
    zones_apart,
)
from scheduling.services.notices import NoticeDraft, queue_notices

BATCH: Final = 200


def tell_news(run_id: UUID, now: dt.datetime) -> dict[str, int]:
    """Queue what a night brings, before the transaction of its job; return the counts."""
    run = subject_of(NightRun.objects.all(), run_id)
    company = Company.objects.get()
    return {
        "changes": _tell_changes(run.date, company, now),
        "heat": _tell_heat(run.date, company, now),
        "drought": _tell_drought(run.date, company, now),
    }


def count_news(run_id: UUID, now: dt.datetime, counts: dict[str, int]) -> dict[str, Any]:
    """End the job of that name."""
    return counts


def _tell_changes(night: dt.date, company: Company, now: dt.datetime) -> int:
    told, after = 0, None
    while rows := percents(after, BATCH):
        told += _tell_batch(rows, night, company, now)
        after = rows[-1][0]
    return told


@transaction.atomic
def _tell_batch(
    rows: Sequence[tuple[UUID, int]], night: dt.date, company: Company, now: dt.datetime
) -> int:
    ids = [place for place, _ in rows]
    before = advice_of(ids)
    moved = {
        place: next_advice(before.get(place, Advice()), percent, night) for place, percent in rows
    }
    month_began = dt.datetime.combine(night.replace(day=1), dt.time(), ZoneInfo(company.time_zone))
    wanted = [place for place, (_, is_told) in moved.items() if is_told]
    news = _within_the_month(wanted, month_began)
    _store(
        {
            place: _untold(before.get(place), night)
            if place in wanted and place not in news
            else advice
            for place, (advice, _) in moved.items()
        }
    )
    advised = {
        place: (_goes_by(before.get(place), night), moved[place][0].percent) for place in news
    }
    return queue_notices(_changes(advised, night), now=now)


def _within_the_month(places: Sequence[UUID], month_began: dt.datetime) -> list[UUID]:
    """Return the properties whose clients have not heard enough this month, this night included."""
    clients = clients_of(places)
    heard = told_since(clients.values(), month_began)
    news = []
    for place in places:
        if heard[clients[place]] < settings.CHANGES_A_MONTH:
            heard[clients[place]] += 1
            news.append(place)
    return news


def _untold(advice: Advice | None, night: dt.date) -> Advice:
    """Return how things stand with a client who was not told: he goes by what he knows."""
    return Advice(percent=_goes_by(advice, night), looked_on=night)


def _goes_by(advice: Advice | None, night: dt.date) -> int:
    """Return what a client was told last this month, or 100."""
    is_of_month = advice and advice.looked_on and advice.looked_on >= night.replace(day=1)
    return advice.percent if advice and is_of_month else Advice().percent


def _store(advice: dict[UUID, Advice]) -> None:
    fields = ["percent", "since", "is_more", "looked_on"]
    PropertyAdvice.objects.bulk_create(
        (PropertyAdvice(property_id=place, **asdict(each)) for place, each in advice.items()),
        update_conflicts=True,
        unique_fields=["property"],
        update_fields=fields,
    )


def _changes(advised: dict[UUID, tuple[int, int]], night: dt.date) -> Iterator[NoticeDraft]:
    ids = list(advised)
    apart, himself = zones_apart(ids, night.month), set_by_clients(ids)
    for garden in Property.objects.filter(pk__in=ids).select_related("customer").order_by("pk"):
        goes_by, percent = advised[garden.pk]
        content = change_content(
            garden.name, percent, apart.get(garden.pk, []),
            goes_by=goes_by, set_himself=garden.pk in himself,
        )  # fmt: skip
        yield _draft(garden, NoticeKind.CHANGE, str(night), content)


def _tell_heat(night: dt.date, company: Company, now: dt.datetime) -> int:
    told = 0
    for station, ids in properties_by_station(night, now):
        heat = heat_at(WeatherStation.objects.get(pk=station), night, now=now)
        if heat is None:
            continue
        gardens = without_heat_notice(ids, now)
        told += queue_notices(
            (
                _draft(
                    garden, NoticeKind.HEAT, str(heat.first_date),
                    heat_content(garden.name, heat, _units(garden, company)),
                )
                for garden in gardens.iterator(BATCH)
            ),
            now=now,
        )  # fmt: skip
    return told


def _tell_drought(night: dt.date, company: Company, now: dt.datetime) -> int:
    return sum(queue_notices(_of_stage(period, company), now=now) for period in stages_on(night))


def _of_stage(period: StagePeriod, company: Company) -> Iterator[NoticeDraft]:
    stage = period.stage
    rules = list(stage.rules.order_by("name").values_list("name", flat=True))
    for garden in untold_of_stage(period).iterator(BATCH):
        content = drought_content(
            garden.name, stage.name, stage.district.name, period.first_date, rules,
            _units(garden, company),
        )  # fmt: skip
        yield _draft(garden, NoticeKind.DROUGHT, str(period.pk), content)


def _draft(garden: Property, kind: NoticeKind, about: str, content: Any) -> NoticeDraft:
    return NoticeDraft(
        key=f"{kind}:{garden.customer_id}:{garden.pk}:{about}",
        kind=kind,
        content=content,
        customer_id=garden.customer_id,
        property_id=garden.pk,
        language=garden.customer.language,
    )


def _units(garden: Property, company: Company) -> System:
    return "metric" if (garden.customer.units or company.units) == "metric" else "us"
