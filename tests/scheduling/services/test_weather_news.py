"""What a night brings to clients."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import ProgramSetting
from properties.models import Customer, Job, Property
from properties.services import jobs
from scheduling.domain.notice_content import content_of
from scheduling.models import (
    ForecastDay,
    ForecastDocument,
    NightRun,
    Notice,
    PropertyAdvice,
    WeatherDay,
    ZoneOutlook,
)
from scheduling.services import weather_news
from scheduling.services.plan_months import make_plan_months
from scheduling.services.plans import store_plans
from tests import cast
from tests.properties import rule_rows

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
NIGHT = dt.date(2026, 7, 10)


class WorkerDied(BaseException):
    """Stands for kill -9: no handler of exceptions sees it."""


@pytest.fixture
def garden(company, station):
    return make_garden("Ingrid Holm")


def make_garden(name: str, **changes):
    customer = cast.make_customer(name=name, wants_notices=True)
    garden = cast.make_property(customer, name=f"Garden of {name}", **changes)
    zone = cast.make_zone(cast.make_controller(garden))
    cast.make_heads(zone)
    store_plans(garden, actor=None, now=cast.NOW)
    make_plan_months()
    return garden


def tell(percent: int, night: dt.date) -> list[Notice]:
    """Let a night find that much, tell its news, and return them."""
    for place in Property.objects.all():
        for zone in place.zones.all():
            ZoneOutlook.objects.update_or_create(
                zone=zone,
                defaults={"days_between": 9, "percent": percent, "changed_on": night},
            )
    now = dt.datetime.combine(night, dt.time(9), dt.UTC)
    run, _ = NightRun.objects.get_or_create(
        date=night, defaults={"started_at": now, "state": "done", "ended_at": now}
    )
    before = set(Notice.objects.values_list("pk", flat=True))
    weather_news.count_news(run.pk, now, weather_news.tell_news(run.pk, now))
    return list(Notice.objects.exclude(pk__in=before))


def tell_nights(percents, first=NIGHT) -> list[int]:
    """Return how many notices each night brought."""
    return [len(tell(percent, first + at * DAY)) for at, percent in enumerate(percents)]


def test_three_hot_nights_are_told_once(garden):
    assert tell_nights([130, 130, 130, 130, 130]) == [0, 0, 1, 0, 0]

    notice = Notice.objects.get()
    content = content_of(notice.content)
    assert (notice.kind, notice.customer, notice.property) == ("change", garden.customer, garden)
    assert "130 %" in content.summary
    row = content.sections[0].table.rows[0]
    assert (row[0], row[2]) == ("1 Front lawn", "every 9 days")


def test_a_night_told_twice_brings_nothing_more(garden):
    tell_nights([130, 130])
    assert len(tell(130, NIGHT + 2 * DAY)) == 1

    assert tell(130, NIGHT + 2 * DAY) == []
    assert PropertyAdvice.objects.get().percent == 130


def test_a_client_hears_of_few_changes_a_month(garden, settings):
    settings.CHANGES_A_MONTH = 2
    first = dt.date(2026, 7, 2)

    assert sum(tell_nights([130] * 3 + [100] * 3 + [130] * 3 + [70] * 3, first)) == 2
    assert sum(tell_nights([130] * 3, dt.date(2026, 8, 4))) == 1


def test_the_count_is_of_the_client_and_not_of_each_of_his_places(garden, settings):
    settings.CHANGES_A_MONTH = 1
    other = make_garden("Ingrid Holm too")
    Property.objects.filter(pk=other.pk).update(customer=garden.customer)

    assert tell_nights([130] * 5) == [0, 0, 1, 0, 0]

    untold = PropertyAdvice.objects.exclude(property=Notice.objects.get().property).get()
    assert untold.percent == 100


def test_who_wants_no_notices_hears_nothing(garden):
    Customer.objects.update(wants_notices=False)

    assert tell_nights([130] * 4) == [0] * 4


def test_who_set_his_controller_himself_is_asked(garden):
    ProgramSetting.objects.create(
        controller=garden.controllers.get(), source="told_by_client", since=cast.TODAY, **cast.ROW
    )

    tell_nights([130] * 3)

    assert "does it still suit" in str(Notice.objects.get().content)


def test_a_worker_that_dies_leaves_whole_batches(garden, monkeypatch):
    for number in range(3):
        make_garden(f"Client {number}")
    monkeypatch.setattr(weather_news, "BATCH", 2)
    tell_nights([130, 130])
    real, calls = weather_news.queue_notices, []

    def die_at_the_second(drafts, *, now):
        calls.append(1)
        if len(calls) == 2:
            raise WorkerDied
        return real(drafts, now=now)

    with monkeypatch.context() as broken:
        broken.setattr(weather_news, "queue_notices", die_at_the_second)
        with pytest.raises(WorkerDied):
            tell(130, NIGHT + 2 * DAY)
    assert Notice.objects.count() == 2
    assert PropertyAdvice.objects.filter(percent=130).count() == 2

    tell(130, NIGHT + 2 * DAY)

    assert Notice.objects.count() == 4
    assert len(set(Notice.objects.values_list("property", flat=True))) == 4


def heat_forecast(station, first: dt.date) -> None:
    made_at = dt.datetime.combine(NIGHT, dt.time(8), dt.UTC)
    document = ForecastDocument.objects.create(
        station=station, style="daily_arrays", issued_at=made_at, retrieved_at=made_at, body="{}",
    )  # fmt: skip
    ForecastDay.objects.bulk_create(
        ForecastDay(station=station, document=document, date=first + n * DAY, tmax_c=44.0,
                    tmin_c=25.0)
        for n in range(4)
    )  # fmt: skip


def hot_years(station) -> None:
    days = [NIGHT - n * DAY for n in range(1, 5 * 366)]
    have = set(station.days.values_list("date", flat=True))
    WeatherDay.objects.bulk_create(
        WeatherDay(station=station, date=day, tmax_c=20.0 + day.day % 11, tmin_c=15.0)
        for day in days if day not in have
    )  # fmt: skip


def test_hot_days_ahead_are_told_once_though_their_beginning_moves(garden, station):
    hot_years(station)
    heat_forecast(station, NIGHT + DAY)

    (notice,) = tell(100, NIGHT)
    assert notice.kind == "heat"
    assert "4 days in a row" in content_of(notice.content).summary

    ForecastDay.objects.filter(date=NIGHT + DAY).delete()
    assert tell(100, NIGHT + DAY) == []


def test_a_drought_stage_is_told_to_the_clients_of_its_district_once(garden):
    elsewhere = make_garden("Kai Berg")
    stage = rule_rows.make_stage(rule_rows.make_district())
    rule_rows.make_rule(stage.district, stage=stage, name="Odd numbers on Wednesday")
    rule_rows.make_period(stage, first_date=NIGHT)
    Property.objects.filter(pk=garden.pk).update(watering_district=stage.district)

    assert [n.property for n in tell(100, NIGHT - DAY)] == []
    (notice,) = tell(100, NIGHT)
    assert tell(100, NIGHT + DAY) == []

    assert (notice.kind, notice.property) == ("drought", garden)
    assert "Odd numbers on Wednesday." in str(notice.content)
    assert elsewhere != garden


def test_the_end_of_a_night_asks_for_its_news(garden):
    from scheduling.services import night_runs

    night_runs.start_night_when_due(now=cast.NOW)
    while due := jobs.due_job_ids(now=cast.NOW):
        for job_id in due:
            jobs.run_job(job_id, now=cast.NOW)

    job = Job.objects.get(kind="night-news")
    assert (job.state, job.result) == ("done", {"changes": 0, "heat": 0, "drought": 0})


def test_a_client_who_was_told_of_more_is_told_of_the_way_back_as_less(garden):
    assert tell_nights([150, 150, 150, 100, 100, 100]) == [0, 0, 1, 0, 0, 1]

    newest = content_of(Notice.objects.latest("created_at").content)
    assert newest.subject.startswith("Water less often for now")
    assert "as usual again" in newest.summary
    assert "set it to 100 %" in newest.sections[0].paragraphs[0]
