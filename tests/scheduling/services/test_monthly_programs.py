"""What runs on a controller, and so what its client is told to change month by month."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import ProgramSetting, SettingProgram, SettingRun
from properties.models import Property
from scheduling.domain.notice_content import content_of
from scheduling.models import ControllerProgram, Notice
from scheduling.selectors.monthly_notices import monthly_facts
from scheduling.services.plans import store_plans
from tests import cast
from tests.scheduling.program_rows import make_fitted
from tests.scheduling.services.test_monthly_notices import DUE, JULY, make_garden, work

pytestmark = pytest.mark.django_db
AUGUST = dt.date(2026, 8, 1)
DUE_AUGUST = dt.datetime(2026, 7, 29, 6, tzinfo=dt.UTC)
DAILY = {"weekdays": list(range(7)), "every_days": None, "first_day": 0, "parity": None}


@pytest.fixture
def garden(company, station):
    return make_garden("Ingrid Holm")


@pytest.fixture
def controller(garden):
    return garden.controllers.get()


def fit_year(controller, number=1, **by_month):
    """A fitted year: Mondays at 05:00 for 9 min, and other minutes in the months that are named."""
    fit = make_fitted(controller, number)
    for month in fit.months:
        minutes = by_month.get(f"m{month['month']}", 9)
        month["programs"] = [{**month["programs"][0], "minutes": [
            {"zone": str(controller.zones.first().pk), "run_min": minutes}
        ]}]  # fmt: skip
    fit.save()
    return fit


def record(controller, source="found", since=cast.TODAY, run_min=20, made_at=cast.NOW, **changes):
    """A setting: Mondays at 05:00."""
    setting = ProgramSetting.objects.create(
        controller=controller,
        source=source,
        since=since,
        created_at=made_at,
        changed_at=made_at,
        **changes,
    )
    program = SettingProgram.objects.create(
        setting=setting, name="A", weekdays=[0], starts=["05:00"]
    )
    SettingRun.objects.create(program=program, zone=controller.zones.get(), run_min=run_min)
    return setting


def send(period) -> None:
    notice = Notice.objects.get(period=period)
    Notice.objects.filter(pk=notice.pk).update(state="sent", sent_at=notice.created_at)


def told(period):
    """The sections of a month, by heading, and its summary."""
    content = content_of(Notice.objects.get(period=period).content)
    return {section.heading: section for section in content.sections}, content


def rows(period):
    sections, _ = told(period)
    return {name: each.table.rows for name, each in sections.items() if each.table}


def test_it_says_what_to_change_against_what_was_found(garden, controller):
    fit_year(controller)
    record(controller, seasonal_percent=70)

    work(DUE)

    name = controller.name
    assert rows(JULY) == {
        name: (("Seasonal percentage", "70 %", "100 %"),),
        f"{name}, program A": (("Zone 1 Front lawn", "20 min", "9 min"),),
    }
    sections, content = told(JULY)
    assert sections[name].paragraphs[0].startswith("We found it so on June 10.")
    assert "Please change the 2 settings listed below." in content.summary


def test_where_nobody_looked_all_of_it_is_told(garden, controller):
    fit_year(controller)

    work(DUE)

    assert rows(JULY)[f"{controller.name}, program A"] == (
        ("Days", "Mon"), ("Start times", "5:00\u00a0AM"), ("Zone 1 Front lawn", "9 min"),
    )  # fmt: skip


def test_the_next_month_starts_from_what_the_notice_of_the_last_one_said(garden, controller):
    fit_year(controller, m8=7)
    record(controller)
    work(DUE)
    send(JULY)

    work(DUE_AUGUST)

    assert rows(AUGUST) == {
        f"{controller.name}, program A": (("Zone 1 Front lawn", "9 min", "7 min"),)
    }
    sections, _ = told(AUGUST)
    assert "as our notice for July said" in sections[controller.name].paragraphs[0]


def test_a_notice_that_was_never_sent_changed_nothing_on_the_wall(garden, controller):
    fit_year(controller, m8=7)
    record(controller)
    work(DUE)

    work(DUE_AUGUST)

    assert rows(AUGUST)[f"{controller.name}, program A"][0][1:] == ("20 min", "7 min")


def test_what_was_told_is_read_from_the_set_of_that_day(garden, controller):
    fit_year(controller)
    record(controller)
    work(DUE)
    send(JULY)
    newer = fit_year(controller, number=2, m7=30, m8=7)
    later = DUE + dt.timedelta(days=5)
    ControllerProgram.objects.filter(pk=newer.pk).update(created_at=later)

    work(DUE_AUGUST)

    assert rows(AUGUST)[f"{controller.name}, program A"][0][1:] == ("9 min", "7 min")


@pytest.mark.parametrize("source", ["found", "set_by_us"])
def test_what_is_found_or_set_after_the_notice_is_what_runs(garden, controller, source):
    fit_year(controller, m8=7)
    record(controller)
    work(DUE)
    send(JULY)
    day = dt.datetime(2026, 7, 10, 15, tzinfo=dt.UTC)
    record(controller, source, since=day.date(), run_min=12, made_at=day)

    work(DUE_AUGUST)

    assert rows(AUGUST)[f"{controller.name}, program A"][0][1:] == ("12 min", "7 min")


def test_what_was_seen_before_the_notice_but_written_down_after_it_is_old(garden, controller):
    fit_year(controller, m8=7)
    work(DUE)
    send(JULY)
    record(
        controller, since=dt.date(2026, 6, 20), run_min=12,
        made_at=dt.datetime(2026, 7, 10, 15, tzinfo=dt.UTC),
    )  # fmt: skip

    work(DUE_AUGUST)

    assert rows(AUGUST)[f"{controller.name}, program A"][0][1:] == ("9 min", "7 min")


def test_a_client_who_set_it_himself_is_asked_once_and_then_left_alone(garden, controller):
    fit_year(controller)
    record(controller, "told_by_client")

    work(DUE)
    send(JULY)
    work(DUE_AUGUST)

    sections, content = told(JULY)
    assert (
        "You changed this controller yourself on June 10."
        in sections[controller.name].paragraphs[0]
    )
    assert content.calendar == ()
    sections, content = told(AUGUST)
    assert "we leave it so" in sections[controller.name].paragraphs[0]
    assert "?" not in content.summary
    # What he set stays his: our notice only asked.
    assert rows(AUGUST)[f"{controller.name}, program A"][0][1:] == ("20 min", "9 min")


def test_who_never_got_the_question_is_asked_again(garden, controller):
    fit_year(controller)
    record(controller, "told_by_client")
    work(DUE)

    work(DUE_AUGUST)

    sections, _ = told(AUGUST)
    assert "Is it still set so" in sections[controller.name].paragraphs[0]


def test_of_another_change_he_is_asked_again(garden, controller):
    fit_year(controller)
    record(controller, "told_by_client")
    work(DUE)
    send(JULY)
    day = dt.datetime(2026, 7, 10, 15, tzinfo=dt.UTC)
    record(controller, "told_by_client", since=day.date(), run_min=15, made_at=day)

    work(DUE_AUGUST)

    sections, _ = told(AUGUST)
    assert (
        "You changed this controller yourself on July 10."
        in sections[controller.name].paragraphs[0]
    )


def test_some_controllers_are_fitted_and_others_not(garden, controller):
    shed = cast.make_controller(garden, name="Shed")
    cast.make_heads(cast.make_zone(shed, number=2, name="Back lawn"))
    store_plans(garden, actor=None, now=cast.NOW)
    fit_year(controller)
    record(controller)

    work(DUE)

    assert rows(JULY)[f"{controller.name}, program A"] == (
        ("Zone 1 Front lawn", "20 min", "9 min"),
    )
    assert rows(JULY)["Shed"][0][0] == "2 Back lawn (estimated)"


def test_a_zone_that_was_planned_after_the_fit_is_told_beside_it(garden, controller):
    fit_year(controller)
    record(controller)
    cast.make_heads(cast.make_zone(controller, number=2, name="Back lawn"))
    store_plans(garden, actor=None, now=cast.NOW)

    work(DUE)

    assert rows(JULY)[f"{controller.name}, other zones"][0][0] == "2 Back lawn (estimated)"


def test_a_set_that_is_not_what_it_should_be_keeps_nobody_else_waiting(garden, controller, caplog):
    other = make_garden("Kai Berg")
    fit = fit_year(controller)
    fit.months[6]["programs"] = [{"name": "A"}]
    fit.save()

    work(DUE)

    assert list(Notice.objects.values_list("property", flat=True)) == [other.pk]
    assert str(garden.pk) in caplog.text


def test_many_fitted_controllers_are_read_in_as_few_queries(
    garden, controller, django_assert_num_queries
):
    def read_all():
        return len(list(monthly_facts(Property.objects.all(), JULY, DUE)))

    fit_year(controller)
    record(controller)
    with django_assert_num_queries(9):
        assert read_all() == 1
    for number in range(3):
        other = make_garden(f"Client {number}").controllers.get()
        fit_year(other)
        record(other)

    with django_assert_num_queries(9):
        assert read_all() == 4
