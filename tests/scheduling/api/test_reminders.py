"""The office's list of reminders and their rules over REST."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.models import Reminder, ReminderRule
from scheduling.services.reminder_rules import make_missing_rules
from tests import cast
from tests.problems import pointers
from tests.scheduling.reminder_rows import make_reminder
from tests.writes import patch

pytestmark = pytest.mark.django_db
URL, RULES = "/api/v1/reminders", "/api/v1/reminder-rules"
TOMORROW = (cast.TODAY + dt.timedelta(days=1)).isoformat()


@pytest.fixture
def reminder(garden):
    return make_reminder(garden)


@pytest.fixture
def rule(db):
    make_missing_rules(now=cast.NOW)
    return ReminderRule.objects.get(kind="season_start")


def test_the_office_reads_a_sentence_in_the_units_it_asks_for(office_api, reminder):
    body = office_api.get(f"{URL}/{reminder.pk}?units=metric").json()

    assert body["sentence"] == (
        "Holm garden: nobody has agreed yet to what was proposed on 10 June 2026: worn nozzle."
    )
    assert (body["state"], body["audience"], body["property"]) == (
        "open", "office", str(reminder.property_id),
    )  # fmt: skip


def test_a_reminder_of_a_colleague_names_him(office_api, technician):
    licence = cast.make_licence(technician)
    row = Reminder.objects.create(
        kind="licence", audience="office", key="licence:1", staff=technician, licence=licence,
        due_date=licence.valid_until, what=str(licence), **cast.ROW,
    )  # fmt: skip

    sentence = office_api.get(f"{URL}/{row.pk}").json()["sentence"]

    assert sentence.startswith("Ruben: the licence irrigation technician L-1 is valid until Dec")


def test_the_list_is_filtered(office_api, garden, other_garden):
    for number, (place, state) in enumerate(
        [(garden, "open"), (garden, "done"), (other_garden, "open")]
    ):
        make_reminder(place, state=state, key=str(number))

    def count(query):
        return len(office_api.get(f"{URL}?{query}").json()["results"])

    assert count("state=open") == 2
    assert count(f"state=open&property={garden.pk}") == 1
    assert count("kind=frost") == 0
    assert count("audience=office") == 3


def test_the_list_costs_the_same_for_one_and_for_many(
    office_api, garden, technician, django_assert_max_num_queries
):
    with django_assert_max_num_queries(4) as first:
        office_api.get(URL)
    for number in range(6):
        make_reminder(garden, key=str(number))
    with django_assert_max_num_queries(len(first)):
        assert len(office_api.get(URL).json()["results"]) == 6


def test_it_rests_stops_and_opens_again(office_api, reminder):
    for act, body, state in (
        ("snooze", {"until": TOMORROW}, "snoozed"),
        ("stop", {}, "stopped"),
        ("resume", {}, "open"),
    ):
        answer = office_api.post(f"{URL}/{reminder.pk}/{act}", body)
        assert (answer.status_code, answer.json()["state"]) == (200, state)


def test_a_day_gone_by_is_refused_by_its_field(office_api, reminder):
    answer = office_api.post(f"{URL}/{reminder.pk}/snooze", {"until": "2026-06-10"})

    assert (answer.status_code, pointers(answer)) == (400, ["/until"])


def test_what_is_done_cannot_be_stopped(office_api, garden):
    row = make_reminder(garden, state="done")

    answer = office_api.post(f"{URL}/{row.pk}/stop")

    assert (answer.status_code, answer.json()["errors"][0]["code"]) == (409, "reminder-state")


@pytest.mark.parametrize(("who", "status"), [("technician", 403), ("outsider", 403),
                                             ("anonymous", 401)])  # fmt: skip
def test_nobody_else_reads_or_moves_them(request, who, status, reminder, rule, visit):
    api = request.getfixturevalue(f"{who}_api")

    for answer in (
        api.get(URL), api.get(f"{URL}/{reminder.pk}"), api.get(RULES),
        api.post(f"{URL}/{reminder.pk}/stop"),
        api.post(f"{URL}/{reminder.pk}/snooze", {"until": TOMORROW}),
        api.patch(f"{RULES}/{rule.pk}", {"is_on": False}),
    ):  # fmt: skip
        assert answer.status_code == status
    reminder.refresh_from_db()
    assert reminder.state == "open"


def test_a_rule_is_read_and_changed(office_api, rule):
    assert len(office_api.get(RULES).json()["results"]) == 13

    answer = patch(office_api, f"{RULES}/{rule.pk}", {"month": 5, "day": 10}, revision=1)

    assert (answer.status_code, answer.json()["month"], answer.json()["revision"]) == (200, 5, 2)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"to_technician": True}, "/to_technician"),
        ({"month": 2, "day": 30}, "/day"),
        ({"month": None}, "/month"),
        ({"repeat_days": 0}, "/repeat_days"),
        ({"days_ahead": 400}, "/days_ahead"),
        ({"days_ahead": -1}, "/days_ahead"),
        ({"most_times": 0}, "/most_times"),
        ({"kind": "frost"}, "/kind"),
    ],
)
def test_a_rule_that_cannot_be_is_refused_by_its_field(office_api, rule, changes, field):
    answer = patch(office_api, f"{RULES}/{rule.pk}", changes)

    assert (answer.status_code, pointers(answer)) == (400, [field])
    assert ReminderRule.objects.get(pk=rule.pk).revision == 1


def test_the_last_backflow_test_is_noted_and_is_not_to_come(office_api, garden):
    url = f"/api/v1/properties/{garden.pk}"

    answer = patch(office_api, url, {"backflow_tested_on": "2026-05-04"})
    assert (answer.status_code, answer.json()["backflow_tested_on"]) == (200, "2026-05-04")

    answer = patch(office_api, url, {"backflow_tested_on": "2062-05-04"})
    assert (answer.status_code, pointers(answer)) == (400, ["/backflow_tested_on"])


def test_a_new_property_has_no_backflow_test_to_come(office_api, garden):
    place = {
        "customer": str(garden.customer_id), "name": "Yard", "street": "1 Mill Lane",
        "city": "Tallgrass", "backflow_tested_on": "2027-01-01",
    }  # fmt: skip

    refused = office_api.post("/api/v1/properties", place)
    made = office_api.post("/api/v1/properties", {**place, "backflow_tested_on": "2026-06-10"})

    assert (refused.status_code, pointers(refused)) == (400, ["/backflow_tested_on"])
    assert (made.status_code, made.json()["backflow_tested_on"]) == (201, "2026-06-10")
