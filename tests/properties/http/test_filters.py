from properties.domain.ids import uuid7


def test_a_foreign_id_finds_as_little_as_an_unknown_one(technician_api, visit, other_garden):
    foreign = technician_api.get(f"/api/v1/zones?property={other_garden.pk}")
    unknown = technician_api.get(f"/api/v1/zones?property={uuid7()}")

    assert (foreign.status_code, unknown.status_code) == (200, 200)
    assert foreign.json() == unknown.json()


def test_a_filter_by_reference_narrows_the_list(office_api, zone, other_garden):
    own = office_api.get(f"/api/v1/zones?property={zone.property_id}").json()["results"]
    other = office_api.get(f"/api/v1/zones?property={other_garden.pk}").json()["results"]

    assert ([row["id"] for row in own], other) == ([str(zone.pk)], [])


def test_an_id_that_is_none_is_named(office_api, company):
    answer = office_api.get("/api/v1/zones?property=front")

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/property"
