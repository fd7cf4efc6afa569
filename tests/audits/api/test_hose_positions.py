"""Sprinklers on hoses over the API: flow, rate and minutes at each position."""

from __future__ import annotations

import math

import pytest

from tests import cast
from tests.audits import field_rows
from tests.problems import pointers, row_counts


@pytest.fixture
def lawn(controller):
    return cast.make_zone(controller, number=5, head_kind="hose_end", area_m2=400.0)


def put(zone, position, **changes):
    """One sprinkler of 20 L/min at 280 kPa that wets 80 m2."""
    values = {
        "kind": "hose_end", "count": 1, "rated_flow_l_min": 20.0, "rated_pressure_kpa": 280.0,
        "wetted_area_m2": 80.0, "tap": "Kitchen", **changes,
    }  # fmt: skip
    return cast.make_heads(zone, position=position, **values)


def measure(visit, zone, tap="kitchen", **changes):
    """A tap of 400 kPa that 20 L/min pull down to 280 kPa."""
    values = {"tap": tap, "static_kpa": 400.0, "running_kpa": 280.0, "flow_l_min": 20.0}
    return field_rows.make_flow_check(visit, zone, **{**values, **changes})


@pytest.fixture
def positions(technician_api, lawn, visit):
    def get(query=""):
        answer = technician_api.get(f"/api/v1/zones/{lawn.pk}/hose-positions?units=metric{query}")
        assert answer.status_code == 200, answer.json()
        return answer.json()

    return get


def test_one_sprinkler_as_measured_waters_its_ground(positions, lawn, visit):
    put(lawn, "back lawn")
    measure(visit, lawn)

    body = positions()

    # Arithmetic: 20 L/min on 80 m2 are 15 mm/h; 10 mm take 40 min.
    (back,) = body["positions"]
    assert body["depth"] == {"value": 10, "unit": "mm"}
    assert back["flow_each"] == back["flow_alone"] == {"value": 20, "unit": "L/min"}
    assert back["working_pressure"] == {"value": 280, "unit": "kPa"}
    assert back["rate"] == {"value": 15, "unit": "mm/h"}
    assert (back["minutes"], back["part_of_alone"]) == (pytest.approx(40), 1)
    assert (back["position"], back["tap"], back["remarks"]) == ("back lawn", "Kitchen", [])


def test_a_depth_may_be_asked(positions, lawn, visit):
    put(lawn, "back lawn")
    measure(visit, lawn)

    assert positions("&depth_mm=15")["positions"][0]["minutes"] == pytest.approx(60)


def test_trade_05_two_in_tandem_put_out_about_half_of_one_alone_on_a_weak_tap(
    positions, lawn, visit
):
    put(lawn, "far end", count=2, tap="shed")
    measure(visit, lawn, tap="shed", running_kpa=40.0, flow_l_min=20 * math.sqrt(40 / 280))

    (far,) = positions()["positions"]

    # Second route: P = Ps / (1 + K C2), one point gives K C2 = 9 for one and 36 for two.
    assert far["sprinklers"] == 2
    assert far["working_pressure"]["value"] == pytest.approx(400 / 37, rel=1e-5)
    assert far["part_of_alone"] == pytest.approx(math.sqrt(10 / 37), rel=1e-5)
    assert far["flow_each"]["value"] == pytest.approx(20 * math.sqrt(400 / 37 / 280), rel=1e-5)


# USDA NRCS sprinkler practice (from memory): heads work alike within a fifth of their pressure.
# Arithmetic: one of 20 L/min at 280 kPa; static 400 kPa and the pressure found as measured.
@pytest.mark.parametrize(("kpa", "works"), [(54.0, False), (223.0, False), (225.0, True)])
def test_below_working_pressure_no_minutes_are_told(positions, lawn, visit, kpa, works):
    put(lawn, "back lawn")
    measure(visit, lawn, running_kpa=kpa, flow_l_min=20 * math.sqrt(kpa / 280))

    (back,) = positions()["positions"]

    assert back["working_pressure"]["value"] == pytest.approx(kpa)
    assert (back["minutes"] is not None) is works
    assert [remark["code"] for remark in back["remarks"]] == (
        [] if works else ["below-working-pressure"]
    )
    assert back["flow_each"] is not None


def test_a_tap_is_known_in_all_zones_of_the_property_and_in_no_other(
    positions, lawn, visit, controller, other_garden, outsider
):
    put(lawn, "back lawn")
    foreign = cast.make_zone(cast.make_controller(other_garden), head_kind="hose_end")
    measure(cast.make_visit_under_way(other_garden, outsider), foreign)
    assert positions()["positions"][0]["remarks"][0]["code"] == "unknown-tap"

    measure(visit, cast.make_zone(controller, number=6, head_kind="hose_end"), tap=" KITCHEN ")

    assert positions()["positions"][0]["rate"] == {"value": 15, "unit": "mm/h"}


# name: (what the sprinklers lack, what is said, what is still known)
LACKING = {
    "tap unnamed": ({"tap": ""}, ("no-tap", "tap"), False),
    "tap unmeasured": ({"tap": "cellar"}, ("unknown-tap", "tap"), False),
    "rated pressure": ({"rated_pressure_kpa": None}, ("missing", "rated_pressure"), False),
    "wetted area": ({"wetted_area_m2": None}, ("missing", "wetted_area"), True),
}


@pytest.mark.parametrize("name", LACKING)
def test_what_is_unknown_is_null_and_says_why_and_what_cures_it(positions, lawn, visit, name):
    changes, said, knows_flow = LACKING[name]
    put(lawn, "back lawn", **changes)
    measure(visit, lawn)

    (back,) = positions()["positions"]

    assert (back["rate"], back["minutes"]) == (None, None)
    assert (back["flow_each"] is not None) is knows_flow
    (remark,) = back["remarks"]
    assert (remark["code"], remark["field"]) == said
    assert remark["remedy"].endswith(".")


def test_a_check_that_lacks_a_number_leaves_the_tap_to_the_one_before(
    positions, lawn, visit, garden
):
    put(lawn, "back lawn")
    measure(visit, lawn, running_kpa=None)
    assert positions()["positions"][0]["remarks"][0]["code"] == "unknown-tap"

    measure(visit, lawn, static_kpa=None, taken_at="2026-06-01T12:00Z")
    assert positions()["positions"][0]["flow_each"] is None
    garden.static_pressure_kpa = 400.0
    garden.save()

    assert positions()["positions"][0]["flow_each"] == {"value": 20, "unit": "L/min"}


def test_a_zone_without_hoses_has_no_positions(technician_api, visit, zone):
    cast.make_heads(zone)

    body = technician_api.get(f"/api/v1/zones/{zone.pk}/hose-positions").json()

    assert body["positions"] == []


@pytest.mark.parametrize("depth", ["0", "-5", "301", "nan", "ten", "1e400", ""])
def test_a_depth_that_cannot_be_is_refused_by_name(technician_api, visit, lawn, depth):
    answer = technician_api.get(f"/api/v1/zones/{lawn.pk}/hose-positions?depth_mm={depth}")

    assert (answer.status_code, pointers(answer)) == (400, ["/depth_mm"])


def test_who_may_ask(callers, visit, lawn):
    url = f"/api/v1/zones/{lawn.pk}/hose-positions"

    assert [api.get(url).status_code for api in callers] == [200, 200, 404, 401]


def test_the_answer_takes_as_many_queries_for_ten_positions_as_for_one(
    positions, lawn, visit, django_assert_num_queries
):
    put(lawn, "place 0")
    measure(visit, lawn)
    queries = 5  # token, company of the scope, zone, heads, checks of the taps
    with django_assert_num_queries(queries):
        positions()
    for number in range(1, 10):
        put(lawn, f"place {number}", tap=f"tap {number}")
        measure(visit, lawn, tap=f"tap {number}")

    with django_assert_num_queries(queries):
        minutes = [each["minutes"] for each in positions()["positions"]]
    assert minutes == [pytest.approx(40)] * 10


def test_the_tap_of_a_check_belongs_to_a_hose(technician_api, visit, zone, lawn):
    body = {"visit": str(visit.pk), "tap": "kitchen",
            "running_pressure": {"value": 280, "unit": "kPa"}}  # fmt: skip
    before = row_counts()

    refused = technician_api.post("/api/v1/flow-checks", {**body, "zone": str(zone.pk)})

    assert (refused.status_code, pointers(refused)) == (400, ["/tap"])
    assert refused.json()["errors"][0]["code"] == "no-hose"
    assert row_counts() == before
    made = technician_api.post("/api/v1/flow-checks", {**body, "zone": str(lawn.pk)})
    assert (made.status_code, made.json()["tap"]) == (201, "kitchen")


def test_the_office_enters_position_tap_and_ground(office_api, lawn, zone):
    body = {
        "zone": str(lawn.pk), "kind": "hose_end", "count": 2, "position": "back lawn",
        "tap": "Kitchen", "rated_flow": {"value": 5, "unit": "gpm"},
        "wetted_area": {"value": 860, "unit": "ft2"},
    }  # fmt: skip

    made = office_api.post("/api/v1/head-groups", body)
    again = office_api.post("/api/v1/head-groups", body)
    piped = office_api.post("/api/v1/head-groups", {**body, "zone": str(zone.pk), "kind": "spray"})

    assert made.json().items() >= body.items()
    assert (again.status_code, pointers(again)) == (400, ["/position"])
    assert (piped.status_code, pointers(piped)) == (400, ["/kind"])
