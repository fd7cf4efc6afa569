"""Recording emitters caught one by one: computed in the domain, then stored with each reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from audits.domain.emitter_checks import EmitterResult, caught_flows_l_min, emitter_result
from audits.models import EmitterCheck, EmitterReading
from audits.services.field_records import check_may_record, check_zone_of_property
from audits.services.flow_checks import check_pressures
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind
from properties.models import StaffMember, Zone
from properties.services.rows import add_row


@dataclass(frozen=True, kw_only=True)
class EmitterCatch:
    """What the emitters dripped: volumes of one time each, or flows."""

    volumes_ml: Sequence[float] | None = None
    catch_s: float | None = None
    flows_l_min: Sequence[float] | None = None


@transaction.atomic
def record_emitter_check(
    values: Mapping[str, Any], catch: EmitterCatch, *, actor: StaffMember, now: datetime
) -> EmitterCheck:
    """Store a check of a drip zone at a visit: what it computes to, and each emitter."""
    visit, zone = values["visit"], values["zone"]
    taken_at = values.get("taken_at", now)
    check_may_record(visit, actor=actor, happened_at=taken_at, now=now)
    check_zone_of_property(zone, visit.property_id)
    _check_drips(zone)
    check_pressures(values, visit.property)
    result = compute_emitters(catch)
    row = {**values, "taken_at": taken_at, "catch_s": catch.catch_s, **_result_columns(result)}
    check = add_row(EmitterCheck, row, actor=actor, now=now, act="checked")
    EmitterReading.objects.bulk_create(_readings(check, catch, result))
    return check


def compute_emitters(catch: EmitterCatch) -> EmitterResult:
    """Return what the readings say, in the one way in which they were taken."""
    if (catch.volumes_ml is None) == (catch.flows_l_min is None):
        raise InvalidInputError(
            "Emitters are read in one way.", field="volumes_ml", code="one-reading",
            remedy="Send the volumes with the seconds of the catch, or else the flows.",
        )  # fmt: skip
    if catch.volumes_ml is not None:
        flows = caught_flows_l_min(catch.volumes_ml, catch.catch_s)  # type: ignore[arg-type]
        return emitter_result(flows, field="volumes_ml")
    if catch.catch_s is not None:
        raise InvalidInputError(
            "Flows take no time of a catch.", field="catch_s", code="not-of-this-kind",
            remedy="Leave it out, or send volumes instead of flows.",
        )  # fmt: skip
    return emitter_result(catch.flows_l_min or (), field="flows_l_min")


def _check_drips(zone: Zone) -> None:
    kinds = {zone.head_kind, *zone.head_groups.values_list("kind", flat=True)}
    if HeadKind.DRIP not in kinds:
        raise InvalidInputError(
            f"Zone {zone} has no drip emitters.", field="zone", code="no-drip",
            remedy="Choose a drip zone, enter its drip heads, or measure this zone with cups.",
        )  # fmt: skip


def _result_columns(result: EmitterResult) -> dict[str, Any]:
    return {
        "emitters": result.emitters,
        "dry_emitters": result.dry_emitters,
        "mean_flow_l_min": result.mean_flow_l_min,
        "emission_uniformity": result.emission_uniformity,
    }


def _readings(
    check: EmitterCheck, catch: EmitterCatch, result: EmitterResult
) -> list[EmitterReading]:
    volumes: Sequence[float | None] = catch.volumes_ml or [None] * result.emitters
    return [
        EmitterReading(check_of=check, number=number, volume_ml=volume_ml, flow_l_min=flow)
        for number, (volume_ml, flow) in enumerate(
            zip(volumes, result.flows_l_min, strict=True), start=1
        )
    ]
