"""What feeds a zone: the supply of its valve, or of the taps of its hoses, by flow checks."""

from __future__ import annotations

from collections.abc import Iterable

from audits.domain.supply_curve import SupplyCurve
from audits.models import FlowCheck
from properties.domain.errors import InvalidInputError
from properties.models import Property, Zone


def tap_name(words: str) -> str:
    """Return the name of a tap as it is compared: without capitals and doubled blanks."""
    return " ".join(words.casefold().split())


def taps_of(place: Property) -> dict[str, SupplyCurve]:
    """Return the supply of each tap of a property by its newest whole check, whichever the zone."""
    checks: dict[str, list[FlowCheck]] = {}
    for check in FlowCheck.objects.filter(zone__property=place).exclude(tap=""):
        checks.setdefault(tap_name(check.tap), []).append(check)
    supplies = {tap: _newest(of_tap, place) for tap, of_tap in checks.items()}
    return {tap: found[1] for tap, found in supplies.items() if found is not None}


def supply_of_zone(zone: Zone) -> tuple[FlowCheck, SupplyCurve]:
    """Return the newest whole check of a zone and the supply that it tells.

    Raises
    ------
    InvalidInputError
        Code "unknown-supply", saying what the newest check lacks.
    """
    checks = list(zone.flow_checks.all())
    found = _newest(checks, zone.property)
    if found is not None:
        return found
    lacks = _lacks(checks[0], zone.property) if checks else "a flow check"
    raise InvalidInputError(
        f"The supply of zone {zone} is unknown: {lacks} is missing.",
        field="flow_check", code="unknown-supply",
        remedy="Record one flow check with static and running pressure and both meter readings.",
    )  # fmt: skip


def _newest(checks: Iterable[FlowCheck], place: Property) -> tuple[FlowCheck, SupplyCurve] | None:
    for check in checks:
        try:
            return check, _curve(check, place)
        except InvalidInputError:
            continue
    return None


def _curve(check: FlowCheck, place: Property) -> SupplyCurve:
    static_kpa = check.static_kpa if check.static_kpa is not None else place.static_pressure_kpa
    return SupplyCurve(static_kpa, check.flow_l_min, check.running_kpa)  # type: ignore[arg-type]


def _lacks(check: FlowCheck, place: Property) -> str:
    words = {
        "a static pressure": check.static_kpa or place.static_pressure_kpa,
        "a running pressure": check.running_kpa,
        "a metered flow": check.flow_l_min,
    }
    missing = [word for word, value in words.items() if not value]
    return ", ".join(missing) or "a running pressure below the static one"
