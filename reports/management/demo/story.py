"""The main job, acted over HTTP: the office registers and plans, the technician measures.

1. The office registers a client, his property, its controller and six zones (once).
2. It plans a visit for the technician.
3. The technician starts it, notes the program that he finds, tests five zones, notes faults and
   finishes.
4. The plans and the summary are made in the background; the office fetches them.
5. The office has the programs of the controller fitted, and the found, the ideal and the fitted way
   of watering replayed on past weather; the fitted one with a new rain sensor too.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from django.utils import timezone

from reports.management.demo.client import ApiClient

API: Final = "/api/v1"
WORK_TIMEOUT_S: Final = 40.0
# What the technician found broken: a sensor that holds back two days after a quarter of an inch.
_SENSOR: Final = {"kind": "rain_sensor", "rain": {"value": 0.25, "unit": "in"}, "days": 2}
WAYS: Final = [
    {"name": "found"},
    {"name": "ideal", "base": "ideal"},
    {"name": "fitted", "base": "fitted"},
    {"name": "+ sensor", "base": "fitted", "changes": [_SENSOR]},
]


class WorkTimeoutError(Exception):
    """The background work did not end in time."""


@dataclass(frozen=True)
class Proof:
    """What to set on the controller, as text to type from, and what past weather says of it."""

    program: str
    replay: dict[str, Any]


@dataclass(frozen=True)
class Outcome:
    """What the visit brought."""

    season: dict[str, Any]
    tests: list[dict[str, Any]]
    tickets: list[dict[str, Any]]
    document: dict[str, Any]
    pdf: bytes


def register_station(office: ApiClient, station: dict[str, Any]) -> None:
    """Register the weather station once."""
    if office.get(f"{API}/weather-stations?code={station['code']}")["results"]:
        return
    body = {name: station[name] for name in ("code", "name", "latitude", "longitude")}
    elevation = {"value": station["elevation_m"], "unit": "m"}
    office.post(f"{API}/weather-stations", {**body, "elevation": elevation})


def register_property(office: ApiClient, data: dict[str, Any]) -> None:
    """Register the client and everything that stands on his property, once."""
    for path, row in (
        ("customers", data["customer"]),
        ("properties", data["property"]),
        ("controllers", data["controller"]),
    ):
        if not office.exists(f"{API}/{path}/{row['id']}"):
            office.post(f"{API}/{path}", row)
    for zone in data["zones"]:
        if not office.exists(f"{API}/zones/{zone['id']}"):
            _register_zone(office, zone, data)


def technician_of(office: ApiClient, person: dict[str, str]) -> tuple[str, str]:
    """Return the technician's id and a fresh token for his phone."""
    known = office.get(f"{API}/staff?email={person['email']}")["results"]
    staff = known[0] if known else office.post(f"{API}/staff", person)
    token = office.post(f"{API}/staff/{staff['id']}/tokens", {"label": "Phone"})
    return staff["id"], token["token"]


def plan_visit(office: ApiClient, property_id: str, technician_id: str) -> str:
    """Plan an audit for today."""
    body = {
        "property": property_id,
        "technician": technician_id,
        "kind": "audit",
        "planned_date": timezone.localdate().isoformat(),
    }
    return str(office.post(f"{API}/visits", body)["id"])


def do_audit(
    technician: ApiClient, visit_id: str, data: dict[str, Any], audit: dict[str, Any]
) -> list[dict[str, Any]]:
    """Act as the technician from the start of the visit to its end; return the tests."""
    zones = {zone["number"]: zone["id"] for zone in data["zones"]}
    technician.post(f"{API}/visits/{visit_id}/start")
    technician.post(
        f"{API}/program-settings", _setting(audit, zones, data["controller"]["id"], visit_id)
    )
    tests = [
        technician.post(f"{API}/catch-tests", _test(test, zones, visit_id))
        for test in audit["tests"]
    ]
    for finding in audit["findings"]:
        zone = {"zone": zones[finding["zone"]]} if "zone" in finding else {}
        technician.post(f"{API}/findings", {**finding, **zone, "visit": visit_id})
    technician.post(f"{API}/visits/{visit_id}/finish")
    return tests


def fetch_outcome(
    office: ApiClient, visit_id: str, property_id: str, tests: list[dict[str, Any]]
) -> Outcome:
    """Wait for the background work of the visit and fetch all that came of it."""
    document = _document(office, visit_id)
    return Outcome(
        season=office.get(f"{API}/properties/{property_id}/season"),
        tests=tests,
        tickets=office.get(f"{API}/repair-tickets?property={property_id}&state=open")["results"],
        document=document,
        pdf=office.get_bytes(f"{API}/documents/{document['id']}/pdf"),
    )


def fit_and_replay(office: ApiClient, property_id: str, controller_id: str) -> Proof:
    """Have the programs fitted and past years replayed, and wait for both."""
    fit = office.post(f"{API}/controllers/{controller_id}/fit-programs", key=f"fit {controller_id}")
    _wait_for_job(office, fit["id"])
    newest = office.get(f"{API}/controller-programs?controller={controller_id}")["results"][0]
    table = office.get_bytes(f"{API}/controller-programs/{newest['id']}/table?format=text")
    asked = office.post(
        f"{API}/properties/{property_id}/replays", {"variants": WAYS}, key=f"replay {property_id}"
    )
    _wait_for_job(office, asked["job"]["id"])
    return Proof(table.decode(), office.get(f"{API}/replays/{asked['replay']}")["answer"])


def _wait_for_job(office: ApiClient, job_id: str) -> None:
    deadline = time.monotonic() + WORK_TIMEOUT_S
    job: dict[str, Any] = {}
    while time.monotonic() < deadline:
        job = office.get(f"{API}/jobs/{job_id}")
        if job["state"] == "done":
            return
        if job["state"] == "parked":
            break
        time.sleep(0.2)
    raise WorkTimeoutError(f"A job did not end well in time: {job}")


def _register_zone(office: ApiClient, zone: dict[str, Any], data: dict[str, Any]) -> None:
    body = {name: value for name, value in zone.items() if name != "heads"}
    places = {"property": data["property"]["id"], "controller": data["controller"]["id"]}
    office.post(f"{API}/zones", {**body, **places})
    for group in zone["heads"]:
        office.post(f"{API}/head-groups", {**group, "zone": zone["id"]})


def _setting(
    audit: dict[str, Any], zones: dict[int, str], controller_id: str, visit_id: str
) -> dict[str, Any]:
    programs = [
        {**program, "runs": [{**run, "zone": zones[run["zone"]]} for run in program["runs"]]}
        for program in audit["program_setting"]["programs"]
    ]
    since = (timezone.localdate() - timedelta(days=60)).isoformat()
    return {
        **audit["program_setting"],
        "programs": programs,
        "controller": controller_id,
        "visit": visit_id,
        "since": since,
    }


def _test(test: dict[str, Any], zones: dict[int, str], visit_id: str) -> dict[str, Any]:
    body = {**test, "zone": zones[test["zone"]], "visit": visit_id}
    places = body.pop("positions_ft", None)
    if places:
        body["positions"] = [
            {"x": {"value": x, "unit": "ft"}, "y": {"value": y, "unit": "ft"}} for x, y in places
        ]
    body["taken_at"] = datetime.now(UTC).isoformat()
    return body


def _document(office: ApiClient, visit_id: str) -> dict[str, Any]:
    deadline = time.monotonic() + WORK_TIMEOUT_S
    while time.monotonic() < deadline:
        found = office.get(f"{API}/documents?visit={visit_id}")["results"]
        if found:
            document: dict[str, Any] = found[0]
            return document
        time.sleep(0.2)
    jobs = office.get(f"{API}/jobs?subject_id={visit_id}")["results"]
    raise WorkTimeoutError(f"The summary was not made in time. Jobs: {jobs}")
