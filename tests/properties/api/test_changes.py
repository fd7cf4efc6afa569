"""Rows are changed by the revision that was read, and nobody writes over anybody."""

from __future__ import annotations

import pytest

from audits.models import Visit
from properties.models import Customer, Event, Property, Zone
from tests import cast
from tests.problems import pointers, row_counts
from tests.properties import rule_rows
from tests.properties.api.bodies import API
from tests.writes import end, etag_of, if_match, patch

CHANGES = {
    "customers": {"phone": "555-0123"},
    "properties": {"city": "Elsewhere", "static_pressure": {"value": 61, "unit": "psi"}},
    "controllers": {"minute_step": 2},
    "zones": {"name": "Side lawn", "area": {"value": 150, "unit": "m2"}},
    "head-groups": {"count": 11},
    "licences": {"number": "L-2"},
    "staff": {"name": "Nils"},
    "weather-stations": {"name": "Field"},
}
FIXED = {
    "controllers": "property", "zones": "property", "head-groups": "zone", "licences": "staff",
    "weather-stations": "code",
}  # fmt: skip


@pytest.fixture
def addresses(zone, technician) -> dict[str, str]:
    rows = {
        "customers": zone.property.customer, "properties": zone.property,
        "controllers": zone.controller, "zones": zone, "head-groups": cast.make_heads(zone),
        "licences": cast.make_licence(technician), "staff": technician,
        "weather-stations": cast.make_station(),
    }  # fmt: skip
    return {name: f"{API}/{name}/{row.pk}" for name, row in rows.items()}


@pytest.mark.parametrize("path", CHANGES)
def test_what_is_sent_is_changed_and_the_rest_stays(office_api, office, addresses, path):
    url, changes = addresses[path], CHANGES[path]
    before = office_api.get(url).json()

    answer = patch(office_api, url, changes)

    assert answer.status_code == 200, answer.json()
    moving = {"revision", "changed_at"}
    assert answer.json()["revision"] == before["revision"] + 1
    same = before.keys() - changes.keys() - moving
    assert {name: answer.json()[name] for name in same} == {name: before[name] for name in same}
    assert answer.json().items() >= changes.items()
    read = office_api.get(url)
    assert (read.json(), read["ETag"]) == (answer.json(), answer["ETag"])
    assert Event.objects.get(subject_id=before["id"], act="changed").actor == office


@pytest.mark.parametrize("path", CHANGES)
def test_who_does_not_say_what_he_read_changes_nothing(office_api, addresses, path):
    before = office_api.get(addresses[path]).json()

    for act in (
        office_api.patch(addresses[path], CHANGES[path]),
        office_api.post(f"{addresses[path]}/retire"),
        office_api.post(f"{addresses[path]}/bring-back"),
    ):
        assert act.status_code == 428
        assert act.json()["code"] == "precondition-required"
        assert "If-Match" in act.json()["detail"]
    assert office_api.get(addresses[path]).json() == before


@pytest.mark.parametrize("path", CHANGES)
def test_who_read_an_older_revision_is_told_the_present_one(office_api, addresses, path):
    read = etag_of(office_api, addresses[path])
    patch(office_api, addresses[path], CHANGES[path])
    before = office_api.get(addresses[path]).json()

    for act in (
        office_api.patch(addresses[path], {}, headers=if_match(read)),
        office_api.post(f"{addresses[path]}/retire", headers=if_match(read)),
    ):
        assert (act.status_code, act.json()["code"]) == (412, "changed-meanwhile")
        assert act.json()["revision"] == before["revision"] == 2
    assert office_api.get(addresses[path]).json() == before


@pytest.mark.parametrize("path", CHANGES)
def test_what_is_the_same_already_is_no_change(office_api, addresses, path):
    first = patch(office_api, addresses[path], CHANGES[path]).json()
    count = Event.objects.count()

    again = patch(office_api, addresses[path], CHANGES[path])

    assert (again.status_code, again.json()) == (200, first)
    assert Event.objects.count() == count


@pytest.mark.parametrize("path", CHANGES)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_what_came_sent_back_whole_changes_nothing(office_api, addresses, path, units):
    """Computed quantities too, though they come rounded: 200 m2 goes out as 2,152.78 ft2."""
    url = f"{addresses[path]}?units={units}"
    read = office_api.get(url).json()
    refused = pointers(patch(office_api, url, read))
    sent = {name: value for name, value in read.items() if f"/{name}" not in refused}

    answer = patch(office_api, url, sent)

    assert len(sent) > 2
    assert (answer.status_code, answer.json()) == (200, read)
    assert not Event.objects.filter(subject_id=read["id"]).exists()


def test_a_quantity_in_another_unit_is_kept_as_it_was_entered_now(office_api, addresses):
    patch(office_api, addresses["zones"], {"area": {"value": 100, "unit": "m2"}})

    feet = patch(office_api, addresses["zones"], {"area": {"value": 1000, "unit": "ft2"}}).json()
    gone = patch(office_api, addresses["zones"], {"area": None}).json()

    assert (feet["area"], feet["revision"]) == ({"value": 1000, "unit": "ft2"}, 3)
    assert (gone["area"], Zone.objects.get().entered) == (None, {})


@pytest.mark.parametrize("path", FIXED)
def test_what_is_said_once_cannot_be_said_again(office_api, addresses, path):
    read = office_api.get(addresses[path]).json()

    answer = patch(office_api, addresses[path], {FIXED[path]: read[FIXED[path]]})

    assert (answer.status_code, pointers(answer)) == (400, [f"/{FIXED[path]}"])


def test_a_change_that_breaks_a_rule_names_the_field_and_writes_nothing(office_api, addresses):
    before = row_counts(), Zone.objects.values().get()

    answer = patch(office_api, addresses["zones"], {"name": "X", "min_days_between": 20})

    assert (answer.status_code, pointers(answer)) == (400, ["/max_days_between"])
    assert (row_counts(), Zone.objects.values().get()) == before


def test_a_zone_is_not_put_on_a_controller_elsewhere(office_api, addresses, other_garden):
    strange = cast.make_controller(other_garden)

    answer = patch(office_api, addresses["zones"], {"controller": str(strange.pk)})

    assert (answer.status_code, pointers(answer)) == (400, ["/controller"])


def test_no_contact_value_of_a_client_enters_the_memory(office_api, addresses, garden):
    patch(office_api, addresses["customers"], {"name": "New Name", "email": "new@x.example"})

    event = Event.objects.get(subject_id=garden.customer_id)
    assert "New Name" not in str(event.after) + str(event.before)
    assert event.after == {"name": "(not kept)", "email": "(not kept)"}
    assert Customer.objects.get(pk=garden.customer_id).name == "New Name"


# ETags


@pytest.mark.parametrize("path", CHANGES)
def test_who_has_the_row_already_is_told_so_in_a_few_bytes(office_api, addresses, path):
    tag = etag_of(office_api, addresses[path])

    same = office_api.get(addresses[path], headers={"If-None-Match": tag})
    weak = office_api.get(addresses[path], headers={"If-None-Match": f'"x", W/{tag}'})
    metric = office_api.get(f"{addresses[path]}?units=metric", headers={"If-None-Match": tag})
    patch(office_api, addresses[path], CHANGES[path])
    changed = office_api.get(addresses[path], headers={"If-None-Match": tag})

    assert (same.status_code, same.content, same["ETag"]) == (304, b"", tag)
    assert [weak.status_code, metric.status_code, changed.status_code] == [304, 200, 200]
    assert tag.startswith('"1-us-')
    assert metric["ETag"].startswith('"1-metric-')


def test_a_row_that_shows_other_rows_has_another_tag_when_those_change(office_api, company):
    stage = rule_rows.make_stage(rule_rows.make_district())
    url = f"{API}/watering-districts/{stage.district_id}"
    tag = etag_of(office_api, url)
    rule_rows.make_period(stage, first_date="2026-06-01")

    answer = office_api.get(url, headers={"If-None-Match": tag})

    assert answer.status_code == 200
    assert answer.json()["active_stage"] == str(stage.pk)
    assert patch(office_api, url, {"source": "Order 9"}, revision=tag).status_code == 200


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        ("*", 200), ('"1-metric"', 200), ('"1"', 200), ('"7-us", "1-us-abc"', 200),
        ('W/"1-us"', 412), ('"2-us"', 412), ('"x"', 412), ("1", 412), ("", 412),
        ('"99999999999999999999"', 412),
    ],
)  # fmt: skip
def test_if_match_compares_the_revision(office_api, addresses, sent, status):
    answer = office_api.patch(addresses["zones"], {"name": "Other"}, headers={"If-Match": sent})

    assert answer.status_code == status
    assert Zone.objects.get().revision == (2 if status == 200 else 1)


# By whom


@pytest.mark.parametrize("path", [path for path in CHANGES if path not in ("staff", "licences")])
def test_only_the_office_changes_and_ends_rows(
    technician_api, outsider_api, anonymous_api, visit, addresses, path
):
    before = row_counts()

    for api, status in ((technician_api, 403), (outsider_api, 403), (anonymous_api, 401)):
        for answer in (
            api.patch(addresses[path], CHANGES[path], headers=if_match("*")),
            api.post(f"{addresses[path]}/retire", headers=if_match("*")),
            api.post(f"{addresses[path]}/bring-back", headers=if_match("*")),
        ):
            assert answer.status_code == status
    assert row_counts() == before


# The company


def test_the_office_changes_the_company(office_api, technician_api, company):
    changes = {
        "name": "Lark & Daughters", "contact_line": "555-0100", "units": "metric",
        "holidays": ["2026-12-25"], "leaves_room_for_rain": True, "digging_business_days": 3,
    }  # fmt: skip

    answer = patch(office_api, f"{API}/company", changes)
    stale = patch(office_api, f"{API}/company", {"name": "Other"}, revision=1)

    assert answer.json().items() >= (changes | {"revision": 2}).items()
    assert answer["ETag"].startswith('"2-metric-')
    assert (stale.status_code, stale.json()["revision"]) == (412, 2)
    assert technician_api.patch(f"{API}/company", changes).status_code == 403
    assert Event.objects.get(subject_id=company.pk).after["units"] == "metric"


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"time_zone": "Mars/Base"}, "/time_zone"), ({"units": "cubits"}, "/units"),
        ({"holidays": ["tomorrow"]}, "/holidays"), ({"name": ""}, "/name"),
        ({"digging_longest_days": 91}, "/digging_longest_days"), ({"is_only": False}, "/is_only"),
        ({"notices_paused_at": None}, "/notices_paused_at"),
    ],
)  # fmt: skip
def test_a_company_that_cannot_be_is_refused(office_api, company, wrong, pointer):
    answer = patch(office_api, f"{API}/company", wrong)

    assert (answer.status_code, pointers(answer)) == (400, [pointer])


# Visits and tickets


def test_a_planned_visit_is_planned_anew(office_api, outsider, technician, garden):
    visit = cast.make_visit(garden, technician)
    changes = {"planned_date": "2026-06-20", "technician": str(outsider.pk), "kind": "repair"}

    answer = patch(office_api, f"{API}/visits/{visit.pk}", changes)

    assert answer.json().items() >= (changes | {"revision": 2, "state": "planned"}).items()


def test_of_a_visit_under_way_the_notes_alone_change(office_api, visit):
    url = f"{API}/visits/{visit.pk}"

    moved = patch(office_api, url, {"planned_date": "2026-06-20"})
    noted = patch(office_api, url, {"notes": "Gate was open.", "kind": visit.kind})

    assert (moved.status_code, moved.json()["code"]) == (409, "visit-state")
    assert pointers(moved) == ["/planned_date"]
    assert (noted.status_code, noted.json()["notes"]) == (200, "Gate was open.")


def test_a_visit_is_given_to_nobody_who_does_not_work_here(office_api, office, garden, technician):
    visit = cast.make_visit(garden, technician)

    answer = patch(office_api, f"{API}/visits/{visit.pk}", {"technician": str(office.pk)})

    assert (answer.status_code, pointers(answer)) == (400, ["/technician"])
    assert Visit.objects.get().technician == technician


def test_what_a_client_agreed_to_stays_as_it_was(office_api, garden):
    ticket = cast.make_ticket(garden)
    url = f"{API}/repair-tickets/{ticket.pk}"

    opened = patch(office_api, url, {"work": "Mend both.", "opens_main_line": True})
    office_api.post(f"{url}/agree", {"person": "Ingrid Holm"})
    agreed = patch(office_api, url, {"work": "Dig it all up."})
    moved = patch(office_api, url, {"fault": "clogged"})

    assert (opened.status_code, opened.json()["work"]) == (200, "Mend both.")
    assert (agreed.status_code, agreed.json()["code"]) == (409, "ticket-state")
    assert (moved.status_code, pointers(moved)) == (400, ["/fault"])


# Stations and staff


def test_a_station_with_days_stays_where_it_is(office_api, station):
    url = f"{API}/weather-stations/{station.pk}"

    moved = patch(office_api, url, {"latitude": 41.0})
    named = patch(office_api, url, {"name": "Hill", "latitude": station.latitude})

    assert (moved.status_code, moved.json()["code"]) == (409, "station-has-days")
    assert (named.status_code, named.json()["name"]) == (200, "Hill")


def test_a_technician_becomes_an_office_user_with_a_password(office_api, technician):
    url = f"{API}/staff/{technician.pk}"

    bare = patch(office_api, url, {"role": "office"})
    whole = patch(office_api, url, {"role": "office", "password": cast.PASSWORD})
    technician.refresh_from_db()

    assert (bare.status_code, pointers(bare)) == (400, ["/password"])
    assert (whole.status_code, whole.json()["role"]) == (200, "office")
    assert technician.check_password(cast.PASSWORD)
    assert "password" not in whole.json()
    assert cast.PASSWORD not in str(list(Event.objects.values()))
    back = patch(office_api, url, {"role": "technician"})
    technician.refresh_from_db()
    assert (back.status_code, technician.has_usable_password()) == (200, False)


@pytest.mark.parametrize("act", ["retire", "role"])
def test_nobody_locks_himself_out(office_api, office, act):
    url = f"{API}/staff/{office.pk}"

    answer = (
        end(office_api, url) if act == "retire" else patch(office_api, url, {"role": "technician"})
    )

    assert (answer.status_code, answer.json()["code"]) == (409, "own-account")
    office.refresh_from_db()
    assert (office.is_active, office.role) == (True, "office")


def test_an_event_stands_beside_each_change_and_its_values_are_those(office_api, addresses):
    patch(office_api, addresses["properties"], CHANGES["properties"])

    event = Event.objects.get(subject_kind="properties.property", act="changed")
    garden = Property.objects.get()
    assert (event.before["city"], event.after["city"]) == ("Tallgrass", "Elsewhere")
    assert event.after["static_pressure_kpa"] == garden.static_pressure_kpa
