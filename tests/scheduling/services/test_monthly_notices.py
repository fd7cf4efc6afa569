"""Monthly notices: one for each property and month, whatever happens in between."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import ProgramSetting
from properties.models import Customer, Job
from properties.services import jobs
from scheduling.domain.notice_content import content_of
from scheduling.models import Notice, WateringPlan
from scheduling.selectors import monthly_notices as read
from scheduling.services import monthly_notices
from scheduling.services.plans import store_plans
from tests import cast

pytestmark = pytest.mark.django_db
JULY = dt.date(2026, 7, 1)
DUE = dt.datetime(2026, 6, 28, 5, 0, tzinfo=dt.UTC)  # midnight in Chicago
DAY = dt.timedelta(days=1)


class WorkerDied(BaseException):
    """Stands for kill -9: no handler of exceptions sees it."""


@pytest.fixture
def garden(company, station):
    """A planned garden whose client agreed to notices."""
    return make_garden("Ingrid Holm")


def make_garden(name: str, **changes):
    customer = cast.make_customer(name=name, wants_notices=True)
    garden = cast.make_property(customer, name=f"Garden of {name}", **changes)
    zone = cast.make_zone(cast.make_controller(garden))
    cast.make_heads(zone)
    store_plans(garden, actor=None, now=cast.NOW)
    return garden


def work(now) -> None:
    monthly_notices.ask_for_monthly_notices(now=now)
    for job in Job.objects.filter(kind="monthly-notices").due(now):
        jobs.run_job(job.pk, now=now)


def periods(garden):
    rows = Notice.objects.filter(property=garden).order_by("period")
    return list(rows.values_list("period", flat=True))


def test_three_days_before_the_month_it_is_queued_once(garden):
    monthly_notices.ask_for_monthly_notices(now=DUE)
    assert Job.objects.filter(kind="monthly-notices").count() == 1

    work(DUE)
    work(DUE)
    work(DUE + 2 * DAY)

    (notice,) = Notice.objects.filter(period=JULY)
    assert notice.key == f"monthly:{garden.customer_id}:{garden.pk}:2026-07"
    assert (notice.customer, notice.property) == (garden.customer, garden)
    content = content_of(notice.content)
    assert content.subject == "Your settings for July: Garden of Ingrid Holm"
    assert content.sections[0].table.rows[0][0] == "1 Front lawn (estimated)"


def test_the_day_is_that_of_the_propertys_clock(garden):
    far = make_garden("Kai Berg", time_zone="Pacific/Honolulu")
    work(cast.NOW)
    work(DUE - dt.timedelta(seconds=1))
    assert periods(garden) == periods(far) == [dt.date(2026, 6, 1)]

    work(DUE)
    assert periods(garden) == [dt.date(2026, 6, 1), JULY]
    assert periods(far) == [dt.date(2026, 6, 1)]

    work(DUE + dt.timedelta(hours=5))
    assert periods(far) == [dt.date(2026, 6, 1), JULY]


def test_after_an_outage_the_month_that_runs_is_told_once_and_no_older_one(garden):
    work(DUE)
    back = dt.datetime(2026, 9, 15, 12, tzinfo=dt.UTC)

    work(back)
    work(back + DAY)

    assert periods(garden) == [JULY, dt.date(2026, 9, 1)]


@pytest.mark.parametrize(
    ("clock_changes", "months"),
    [(dt.datetime(2026, 3, 8), [2, 3]), (dt.datetime(2026, 11, 1), [10, 11])],
)
def test_on_the_days_on_which_the_clock_changes_nothing_is_lost_or_doubled(
    garden, clock_changes, months
):
    start = clock_changes.replace(tzinfo=dt.UTC) - 6 * DAY
    work(start - 20 * DAY)
    for hours in range(0, 12 * 24, 3):
        work(start + dt.timedelta(hours=hours))

    assert [period.month for period in periods(garden)] == months


@pytest.mark.parametrize(
    "changes", [{"wants_notices": False}, {"wants_notices": False, "unsubscribed_at": cast.NOW}]
)
def test_without_consent_none_is_made(garden, changes):
    Customer.objects.update(**changes)

    work(DUE)

    assert not Notice.objects.exists()
    assert not Job.objects.filter(kind="monthly-notices").exists()


def test_a_garden_without_a_plan_has_nothing_to_be_told(company, station):
    cast.make_property(cast.make_customer(wants_notices=True))

    work(DUE)

    assert not Notice.objects.exists()


def test_a_controller_that_the_client_set_is_asked_about(garden):
    ProgramSetting.objects.create(
        controller=garden.controllers.get(), source="told_by_client", since=cast.TODAY, **cast.ROW
    )

    work(DUE)

    content = content_of(Notice.objects.get().content)
    assert "You changed this controller yourself" in content.sections[0].paragraphs[0]


def test_what_we_set_later_is_told_again(garden):
    for source, days in (("told_by_client", 0), ("set_by_us", 1)):
        ProgramSetting.objects.create(
            controller=garden.controllers.get(), source=source,
            since=cast.TODAY + days * DAY, **cast.ROW,
        )  # fmt: skip

    work(DUE)

    assert "yourself" not in str(Notice.objects.get().content)


def test_a_worker_that_dies_leaves_whole_batches_and_the_next_makes_the_rest(garden, monkeypatch):
    for number in range(4):
        make_garden(f"Client {number}")
    monkeypatch.setattr(monthly_notices, "queue_notices", in_batches_of(2, monkeypatch))
    real = monthly_notices.monthly_draft
    made = []

    def die_at_the_fourth(*arguments):
        made.append(arguments)
        if len(made) == 4:
            raise WorkerDied
        return real(*arguments)

    with monkeypatch.context() as broken:
        broken.setattr(monthly_notices, "monthly_draft", die_at_the_fourth)
        with pytest.raises(WorkerDied):
            work(DUE)
    assert Notice.objects.count() == 2

    work(DUE + dt.timedelta(hours=1))

    assert Notice.objects.count() == 5
    assert len(set(Notice.objects.values_list("property", flat=True))) == 5


def in_batches_of(size, monkeypatch):
    from scheduling.services import notices

    monkeypatch.setattr(notices, "BATCH", size)
    return notices.queue_notices


def test_many_are_read_in_few_queries(garden, monkeypatch, django_assert_num_queries):
    def count(properties):
        return len(list(read.monthly_facts(properties, JULY, DUE)))

    ((_, one),) = read.due_properties(DUE)
    with django_assert_num_queries(7):
        assert count(one) == 1
    for number in range(3):
        make_garden(f"Client {number}")

    ((_, four),) = read.due_properties(DUE)
    with django_assert_num_queries(7):
        assert count(four) == 4


def test_one_plan_that_is_not_what_it_should_be_keeps_nobody_else_waiting(garden, caplog):
    other = make_garden("Kai Berg")
    WateringPlan.objects.filter(zone__property=garden).update(months=[])

    work(DUE)

    assert periods(garden) == []
    assert JULY in periods(other)
    assert str(garden.pk) in caplog.text


def test_a_garden_that_cannot_be_told_is_not_asked_about_each_minute(garden):
    WateringPlan.objects.filter(zone__property=garden).update(months=[])
    minute = dt.timedelta(minutes=1)

    for turn in range(4):
        work(DUE + turn * minute)
    assert Job.objects.filter(kind="monthly-notices").count() == 1

    work(DUE + dt.timedelta(hours=1, minutes=1))
    assert Job.objects.filter(kind="monthly-notices").count() == 2
