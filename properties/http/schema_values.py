"""What stands in the examples of the API's description: believable, and all of it invented."""

from __future__ import annotations

from typing import Any, Final

BY_FORMAT: Final = {
    "date": "2026-06-10",
    "date-time": "2026-06-10T15:00:00Z",
    "time": "05:30:00",
    "email": "ingrid@holm.example",
    "uri": "https://garden.example/api/v1/customers?cursor=WzAsIjAxOWViMjRjIl0",
    "decimal": "4.25",
    "duration": "PT30M",
    "byte": "JVBERi0=",
    "binary": "",
}
TEXTS: Final = {
    "name": "Front lawn",
    "street": "48 Kiln Street",
    "city": "Tallgrass",
    "region": "KS",
    "postal_code": "67000",
    "house_number": "48",
    "time_zone": "America/Chicago",
    "phone": "+1 555 0100",
    "code": "NZ-1",
    "reference": "C-1042",
    "label": "Tablet of the van",
    "language": "en",
    "currency": "USD",
    "sentence": "Water every third day, 14 minutes in two cycles.",
    "remedy": "Read it again, then repeat your change.",
    "note": "The gate sticks.",
    "notes": "The gate sticks.",
    "access_notes": "Side gate; the clock hangs in the garage.",
    "reason": "The wrong zone ran.",
    "void_reason": "The wrong zone ran.",
    "work": "Set the head upright.",
    "source": "Town ordinance, section 4",
    "source_address": "https://town.example/watering",
    "agreed_by": "Ingrid Holm",
    "person": "Ingrid Holm",
    "customer_name": "Ingrid Holm",
    "property_name": "Holm garden",
    "controller_name": "Garage",
    "station_name": "Tallgrass Field Station",
    "password": "a-long-and-odd-password",
    "token": "an-invented-token-of-no-use",
    "sha256": "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
    "detail": "This is so by a rule.",
    "title": "Refused by a rule",
    "spot": "By the drive",
    "where": "By the drive",
    "unit": "piece",
    "number": "L-1",
    "evidence": "The quarter that got least got 5 mm of 6.7 mm.",
    "advice": "Straighten the heads, then test again.",
    "water_source": "City main",
    "dormant_from": "11-15",
    "dormant_until": "03-15",
    "overseeded_from": "10-01",
    "overseeded_until": "04-30",
}
NUMBERS: Final[dict[str, float]] = {
    "latitude": 40.42,
    "longitude": -101.7,
    "number": 1,
    "revision": 1,
    "status": 409,
    "run_min": 10,
    "month": 6,
    "year": 2026,
    "first_year": 2011,
    "last_year": 2025,
    "du_lq": 0.75,
    "du_lh": 0.85,
    "cu": 0.84,
    "interval_days": 3,
    "percent": 90,
    "seasonal_percent": 90,
    "slope_percent": 2,
    "size_bytes": 48213,
    "days": 3,
    "minutes": 14,
    "cycles": 2,
    "cycle_min": 7,
    "soak_min": 30,
    "count": 10,
    "cups": 12,
    "arc_deg": 180,
    "multiplier": 1.18,
    "plant_factor": 0.8,
    "quality_factor": 0.9,
    "allowed_depletion": 0.5,
    "rain_part": 0.5,
    "microclimate_factor": 1.0,
}
ARRAYS: Final[dict[str, tuple[float, ...]]] = {
    "values": (6.5, 7.25, 5.0, 7.5),
    "weekdays": (1, 3, 5),
}
# By the name of the field, or else by the unit.
QUANTITIES: Final[dict[str, float]] = {
    "elevation": 1072.0, "area": 200.0,
    "mm": 12.5, "cm": 1.25, "in": 0.5, "m": 4.5, "ft": 15.0, "m2": 200.0, "ft2": 2150.0,
    "cm2": 100.0, "in2": 15.5, "L": 380.0, "mL": 60.0, "fl_oz": 2.0, "gal": 100.0,
    "L/min": 28.0, "gpm": 7.5, "kPa": 207.0, "psi": 30.0, "bar": 2.1, "mm/h": 40.0, "in/h": 1.6,
    "degC": 24.5, "degF": 76.0, "m/s": 1.5, "km/h": 5.4, "mph": 3.4,
}  # fmt: skip


def _problem(status: int, kind: str, title: str, code: str, detail: str, **rest: Any) -> Any:
    body = {"type": f"/problems/{kind}", "title": title, "status": status, "code": code}
    return {**body, "detail": detail, **rest}


_WRONG_UNIT: Final = {
    "pointer": "/area", "code": "wrong-unit", "detail": "'ft' is not a unit of area.",
    "remedy": "Use one of: m2, ft2.",
}  # fmt: skip
PROBLEM_BODIES: Final[dict[str, Any]] = {
    "400": _problem(
        400, "invalid-value", "A value is wrong", "invalid", "One field must be put right.",
        errors=[_WRONG_UNIT],
    ),
    "401": _problem(401, "not-signed-in", "You are not signed in", "not-authenticated", "Sign in."),
    "403": _problem(
        403, "not-allowed", "You may not do this", "permission-denied", "Your role may not do this."
    ),
    "404": _problem(
        404, "not-found", "It is not there", "not-found", "There is no such thing, or not for you."
    ),
    "409": _problem(
        409, "refused-by-rule", "A rule forbids it now", "no-weather",
        "No weather is known for this property.", remedy="Give it a station with weather.",
    ),
    "412": _problem(
        412, "stale", "Somebody else changed it meanwhile", "changed-meanwhile",
        "Somebody else changed this in the meantime: it is at revision 4 now.",
        remedy="Read it again, then repeat your change.", revision=4,
    ),
    "413": _problem(
        413, "too-large", "Too much at once", "too-large", "What was sent is too large."
    ),
    "415": _problem(
        415, "not-understood", "The request cannot be read", "unsupported-media-type",
        'Unsupported media type "text/plain" in request.',
    ),
    "422": _problem(
        422, "key-reused", "The key stands for another request", "key-reused",
        "This key stands for another request.",
    ),
    "428": _problem(
        428, "precondition-needed", "Say which revision you read", "precondition-required",
        "Send If-Match with the ETag of the row as you read it.",
    ),
    "429": _problem(429, "too-many", "Too often", "throttled", "Wait, then ask again."),
    "default": _problem(
        503, "busy", "Busy for a moment", "busy",
        "The database is busy. Try again in a few seconds.",
    ),
}  # fmt: skip
