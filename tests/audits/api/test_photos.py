"""Photos over the API: sent as bytes, kept once, fetched by those who may."""

from __future__ import annotations

import hashlib
import os

import pytest
from PIL import Image

from audits.models import Finding, Photo, VisitState
from audits.services import photos as service
from properties.models import Event
from tests import cast
from tests.audits import field_rows, pictures
from tests.conftest import client_of
from tests.problems import pointers, row_counts

URL = "/api/v1/photos"
IDENTITY = "0190a000-0000-7000-8000-00000000beef"
SENT = pictures.encoded(pictures.red_above_blue(), quality=95)


@pytest.fixture
def put(technician_api, visit):
    def send(body=SENT, query=None, identity=IDENTITY, kind="image/jpeg", api=technician_api):
        facts = f"visit={visit.pk}" if query is None else query
        return api.put(f"{URL}/{identity}?{facts}", data=body, content_type=kind)

    return send


def test_a_photo_is_kept_with_what_is_said_of_it(put, visit, zone, technician):
    query = (
        f"visit={visit.pk}&zone={zone.pk}&taken_at=2026-06-10T14:00:00Z&caption=Dry+wedge&units=us"
    )

    made = put(query=query)

    assert made.status_code == 201, made.json()
    assert made.json() == {
        "id": IDENTITY, "visit": str(visit.pk), "zone": str(zone.pk),
        "finding": None, "taken_at": "2026-06-10T14:00:00Z", "caption": "Dry wedge", "width_px": 40,
        "height_px": 60, "source_sha256": hashlib.sha256(SENT).hexdigest(),
        "created_at": "2026-06-10T15:00:00Z",
    }  # fmt: skip
    event = Event.objects.get(subject_id=IDENTITY)
    assert (event.act, event.actor) == ("photographed", technician)
    assert event.after["jpeg"] == f"{len(bytes(Photo.objects.get().jpeg))} bytes"


@pytest.mark.parametrize(("kind", "name"), [("image/png", "PNG"), ("image/webp", "WEBP")])
def test_png_and_webp_are_taken_and_a_jpeg_is_kept(put, technician_api, kind, name):
    put(pictures.encoded(pictures.red_above_blue(), name), kind=kind)

    jpeg = technician_api.get(f"{URL}/{IDENTITY}/jpeg").content
    assert pictures.opened(jpeg).format == "JPEG"


def test_the_picture_leaves_as_a_file_that_can_do_nothing(put, technician_api):
    put()

    answer = technician_api.get(f"{URL}/{IDENTITY}/jpeg", headers={"accept": "image/jpeg"})

    assert answer.status_code == 200
    assert pictures.opened(answer.content).size == (40, 60)
    assert {name: answer[name] for name in answer.headers if name != "Content-Length"}.items() >= {
        "Content-Type": "image/jpeg",
        "Content-Disposition": f'attachment; filename="{IDENTITY}.jpg"',
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "private, no-store",
        "Content-Security-Policy": "default-src 'none'; sandbox",
    }.items()


def test_the_same_photo_again_changes_nothing_and_another_is_refused(put):
    first = put()
    before = row_counts()

    again = put()
    other = put(pictures.telling_jpeg())

    assert (again.status_code, again.json()) == (200, first.json())
    assert (other.status_code, pointers(other)) == (409, ["/id"])
    assert other.json()["remedy"] == "Make a new id for every photo."
    assert row_counts() == before
    assert Photo.objects.get().source_sha256 == hashlib.sha256(SENT).hexdigest()


def test_the_id_of_a_strangers_photo_is_refused_and_shows_nothing(
    put, outsider, other_garden, visit
):
    put()
    own = cast.make_visit_under_way(other_garden, outsider)

    answer = put(query=f"visit={own.pk}", api=client_of(outsider))

    assert (answer.status_code, pointers(answer)) == (409, ["/id"])
    assert str(visit.pk) not in answer.content.decode()
    assert Photo.objects.count() == 1


def test_more_than_django_holds_in_memory_is_taken_up_to_ten_megabytes(put):
    noise = Image.frombytes("RGB", (1000, 1000), os.urandom(3_000_000))
    body = pictures.encoded(noise, "PNG")
    assert len(body) > 2_500_000

    assert put(body, kind="image/png").status_code == 201


# name: (body, content type, code)
REFUSED = {
    "nothing": (b"", "image/jpeg", "empty-photo"),
    "no picture": (b"hello", "image/jpeg", "not-a-picture"),
    "an SVG that says PNG": (pictures.SVG, "image/png", "not-a-picture"),
    "a picture bomb": (pictures.bomb(20_000, 10_000), "image/png", "too-many-pixels"),
    "half a picture": (pictures.telling_jpeg()[:-300], "image/jpeg", "broken-picture"),
    "over ten megabytes": (b"\xff" * (service.MAX_SENT_BYTES + 1), "image/jpeg", "photo-too-large"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_sound_photo_is_refused_by_its_name_and_nothing_is_stored(put, name):
    body, kind, code = REFUSED[name]
    before = row_counts()

    answer = put(body, kind=kind)

    assert (answer.status_code, pointers(answer)) == (400, ["/photo"])
    (error,) = answer.json()["errors"]
    assert (error["code"], bool(error["remedy"])) == (code, True)
    assert row_counts() == before


@pytest.mark.parametrize("kind", ["image/svg+xml", "text/html", "application/json", "image/gif"])
def test_bodies_of_other_kinds_are_not_even_read(put, kind):
    answer = put(kind=kind)

    assert answer.status_code == 415
    assert answer.json()["code"] == "unsupported-media-type"
    assert not Photo.objects.exists()


@pytest.mark.parametrize(
    ("query", "where"),
    [
        ("", "/visit"),
        ("visit=somewhere", "/visit"),
        ("visit={visit}&zone=", "/zone"),
        ("visit={visit}&zone={strange}", "/zone"),
        ("visit={visit}&taken_at=soon", "/taken_at"),
        ("visit={visit}&taken_at=2026-06-12T15:00:00Z", "/taken_at"),
        ("visit={visit}&caption=" + "x" * 201, "/caption"),
        ("visit={visit}&place=gate", "/place"),
    ],
)
def test_what_is_said_wrongly_of_a_photo_is_refused_by_its_name(
    put, office_api, visit, other_garden, query, where
):
    strange = cast.make_zone(cast.make_controller(other_garden))
    before = row_counts()

    answer = put(query=query.format(visit=visit.pk, strange=strange.pk), api=office_api)

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert row_counts() == before


def test_an_id_that_is_no_id_is_not_found(put):
    assert put(identity="front-lawn").status_code == 404


def test_who_may_send_a_photo(put, office_api, outsider_api, anonymous_api):
    before = row_counts()

    stranger = put(api=outsider_api)
    assert (stranger.status_code, pointers(stranger)) == (400, ["/visit"])
    assert put(api=anonymous_api).status_code == 401
    assert row_counts() == before
    assert put(api=office_api).status_code == 201


def test_a_colleague_at_the_same_property_sends_none_of_my_visit(
    put, outsider, outsider_api, garden
):
    cast.make_visit(garden, outsider)

    answer = put(api=outsider_api)

    assert (answer.status_code, pointers(answer)) == (409, ["/visit"])
    assert not Photo.objects.exists()


def test_who_may_see_a_photo(
    put, office_api, technician_api, outsider_api, anonymous_api
):  # fmt: skip
    put()

    for url in (f"{URL}/{IDENTITY}", f"{URL}/{IDENTITY}/jpeg"):
        people = (office_api, technician_api, outsider_api, anonymous_api)
        assert [api.get(url).status_code for api in people] == [200, 200, 404, 401]
    assert outsider_api.get(URL).json()["results"] == []


@pytest.mark.parametrize(
    ("state", "status"), [(VisitState.PLANNED, 409), (VisitState.FINISHED, 201)]
)
def test_after_the_end_of_a_visit_photos_come_in_and_before_its_start_none(
    put, visit, state, status
):
    visit.state = state
    visit.finished_at = cast.NOW if state == VisitState.FINISHED else None
    visit.save()

    assert put().status_code == status


@pytest.mark.parametrize("method", ["patch", "delete", "post"])
def test_a_photo_cannot_be_changed_or_taken_back(put, office_api, method):
    put()

    assert getattr(office_api, method)(f"{URL}/{IDENTITY}").status_code == 405
    assert Photo.objects.count() == 1


def test_the_list_reads_no_picture_and_takes_as_many_queries_for_ten_as_for_one(
    technician_api, visit, zone, django_assert_num_queries
):
    field_rows.make_photo(visit, zone=zone)
    queries = 4  # token, company (units, and day of the scope), rows
    with django_assert_num_queries(queries) as asked:
        technician_api.get(URL)
    assert not any('"jpeg"' in query["sql"] for query in asked.captured_queries)
    for _ in range(9):
        field_rows.make_photo(visit)

    with django_assert_num_queries(queries):
        assert len(technician_api.get(URL).json()["results"]) == 10
    assert len(technician_api.get(f"{URL}?zone={zone.pk}").json()["results"]) == 1


def a_finding_of(visit):
    facts = {"fault": "leaning", "severity": "major", "seen_at": cast.NOW, **cast.ROW}
    return Finding.objects.create(visit=visit, **facts)


def test_a_photo_is_the_evidence_of_a_finding_of_its_visit(put, technician_api, visit):
    finding = a_finding_of(visit)

    made = put(query=f"visit={visit.pk}&finding={finding.pk}")

    assert made.json()["finding"] == str(finding.pk)
    found = technician_api.get(f"{URL}?finding={finding.pk}").json()["results"]
    assert [photo["id"] for photo in found] == [IDENTITY]


def test_a_finding_of_another_visit_is_refused(put, garden, visit, technician):
    finding = a_finding_of(cast.make_visit_under_way(garden, technician))

    refused = put(query=f"visit={visit.pk}&finding={finding.pk}")

    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"] == "/finding"
    assert not Photo.objects.exists()
