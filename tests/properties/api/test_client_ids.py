"""A client may make the id of a new row: sent again it makes nothing again."""

from __future__ import annotations

from uuid import UUID

import pytest

from audits.models import Finding
from properties.domain.ids import uuid7
from properties.models import Customer, Event, IdempotencyKey
from tests import cast
from tests.problems import pointers, row_counts
from tests.properties.api.bodies import API
from tests.writes import patch

COLLECTIONS = ["customers", "properties", "controllers", "zones", "head-groups"]


@pytest.mark.parametrize("path", COLLECTIONS)
@pytest.mark.parametrize("verb", ["post", "put"])
def test_the_same_again_gives_the_same_answer_and_writes_nothing(office_api, body_of, path, verb):
    chosen, body = str(uuid7()), body_of[path]
    first = send(office_api, verb, path, chosen, body)
    before = row_counts()

    again = [send(office_api, way, path, chosen, body) for way in ("post", "put")]

    assert first.status_code == 201, first.json()
    assert first.json()["id"] == chosen
    assert first["Location"] == f"{API}/{path}/{chosen}"
    for answer in again:
        assert (answer.status_code, answer.json()) == (200, first.json())
        assert answer["ETag"] == first["ETag"]
    assert row_counts() == before
    assert Event.objects.filter(subject_id=chosen).count() == 1


@pytest.mark.parametrize("path", COLLECTIONS)
def test_something_else_under_the_id_is_refused(office_api, body_of, path):
    chosen, body = str(uuid7()), body_of[path]
    made = send(office_api, "post", path, chosen, body).json()
    other = body | ({"count": 9} if path == "head-groups" else {"name": "Another"})
    before = row_counts()

    for verb in ("post", "put"):
        refused = send(office_api, verb, path, chosen, other)
        assert (refused.status_code, refused.json()["code"]) == (409, "id-taken")
        assert pointers(refused) == ["/id"]
        assert "new id" in refused.json()["remedy"]
    assert row_counts() == before
    assert office_api.get(f"{API}/{path}/{chosen}").json() == made


def test_the_same_again_is_known_when_the_row_was_changed_since(office_api, body_of):
    chosen = str(uuid7())
    send(office_api, "post", "customers", chosen, body_of["customers"])
    patch(office_api, f"{API}/customers/{chosen}", {"phone": "555-0199"})

    again = send(office_api, "post", "customers", chosen, body_of["customers"])

    assert (again.status_code, again.json()["phone"]) == (200, "555-0199")


def test_the_order_of_the_fields_is_no_difference(office_api, body_of):
    chosen, body = str(uuid7()), body_of["zones"]
    send(office_api, "post", "zones", chosen, body)

    turned = dict(reversed(body.items()))

    assert send(office_api, "put", "zones", chosen.upper(), turned).status_code == 200


def test_a_refusal_keeps_nothing(office_api, body_of):
    chosen, body = str(uuid7()), body_of["zones"]

    refused = send(office_api, "post", "zones", chosen, body | {"number": 0})
    made = send(office_api, "post", "zones", chosen, body)

    assert (refused.status_code, made.status_code) == (400, 201)


def test_a_row_that_was_there_before_is_not_written_over(office_api, garden):
    body = {"name": "Impostor"}

    for verb in ("post", "put"):
        answer = send(office_api, verb, "customers", str(garden.customer_id), body)
        assert (answer.status_code, answer.json()["code"]) == (409, "id-taken")
    assert Customer.objects.get().name == "Ingrid Holm"


@pytest.mark.parametrize(
    "odd",
    [
        "b7e1c0de-5f0a-4c3e-9d2b-6a1f0e8d7c35", "not-an-id",
        "00000000-0000-7000-8000-000000000000",
    ],
)  # fmt: skip
def test_an_id_that_is_no_uuid7_of_a_believable_moment_is_refused(office_api, body_of, odd):
    answer = office_api.post(f"{API}/customers", body_of["customers"] | {"id": odd})

    assert (answer.status_code, pointers(answer)) == (400, ["/id"])
    assert not IdempotencyKey.objects.exists()


def test_address_and_body_name_one_id(office_api, body_of):
    answer = office_api.put(
        f"{API}/customers/{uuid7()}", body_of["customers"] | {"id": str(uuid7())}
    )

    assert (answer.status_code, pointers(answer)) == (400, ["/id"])
    assert office_api.put(f"{API}/customers/lawn", body_of["customers"]).status_code == 404


def test_a_strangers_row_is_not_there_to_be_put(
    technician_api, outsider_api, visit, zone, other_garden, outsider
):
    """The id that another technician chose is unknown to him who may not see the row."""
    body = {"visit": str(visit.pk), "fault": "leaning", "severity": "minor"}
    chosen = str(uuid7())
    made = send(technician_api, "post", "findings", chosen, body)
    his = cast.make_visit_under_way(other_garden, outsider)
    his_body = body | {"visit": str(his.pk)}
    before = row_counts()

    put = send(outsider_api, "put", "findings", chosen, his_body)
    unknown = outsider_api.get(f"{API}/findings/{uuid7()}")
    posted = send(outsider_api, "post", "findings", chosen, his_body)

    assert made.status_code == 201
    assert (put.status_code, put.json()) == (404, unknown.json())
    assert (posted.status_code, posted.json()["code"]) == (409, "id-taken")
    assert row_counts() == before
    assert Finding.objects.get().visit == visit


@pytest.mark.parametrize("verb", ["post", "put"])
def test_only_who_may_make_a_row_may_put_it(technician_api, anonymous_api, visit, body_of, verb):
    for api, status in ((technician_api, 403), (anonymous_api, 401)):
        answer = send(api, verb, "zones", str(uuid7()), body_of["zones"])
        assert answer.status_code == status


def test_of_a_client_nothing_but_a_digest_is_kept(office_api, body_of):
    chosen = uuid7()
    send(office_api, "post", "customers", str(chosen), body_of["customers"])

    kept = IdempotencyKey.objects.values().get()
    assert (kept["body"], kept["caller_id"]) == (None, None)
    assert kept["key"] == f"properties.customer {chosen}"
    assert "Brandt" not in str(kept)
    assert isinstance(kept["id"], UUID)


def send(api, verb, path, row_id, body):
    if verb == "put":
        return api.put(f"{API}/{path}/{row_id}", body)
    return api.post(f"{API}/{path}", body | {"id": row_id})
