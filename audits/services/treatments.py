"""Recording treatments that ask something of the water, and calling them off."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from audits.models import Treatment, TreatmentKind
from audits.selectors.treatments import asked_of_water
from audits.services.field_records import check_may_record_at, check_zone_of_property
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Role, StaffMember
from properties.services.rows import add_row, change_row


@transaction.atomic
def record_treatment(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> Treatment:
    """Store a treatment of a zone, or of the whole property; conflicts are told, not refused."""
    place = values["property"]
    check_may_record_at(
        place.pk, values.get("visit"),
        actor=actor, happened_at=values["applied_at"], now=now, moment_field="applied_at",
    )  # fmt: skip
    check_zone_of_property(values.get("zone"), place.pk)
    _check_depth(values["kind"], values.get("at_most_mm"))
    asked_of_water(Treatment(**values))
    return add_row(Treatment, values, actor=actor, now=now, act="treated")


@transaction.atomic
def call_off_treatment(treatment: Treatment, *, actor: StaffMember, now: datetime) -> Treatment:
    """Let a treatment ask nothing more of the water; it stays in the record."""
    own = treatment.visit is not None and treatment.visit.technician_id == actor.pk
    if actor.role == Role.TECHNICIAN and not own:
        raise RefusedError(
            "This treatment was not recorded at a visit of yours.",
            code="not-your-visit", field="visit", remedy="Ask the office to call it off.",
        )  # fmt: skip
    if treatment.is_called_off:
        raise RefusedError(
            "This treatment is called off already.",
            code="called-off", field="is_called_off", remedy="Nothing is left to do.",
        )  # fmt: skip
    return change_row(treatment, {"is_called_off": True}, actor=actor, now=now, act="called off")


def _check_depth(kind: str, at_most_mm: float | None) -> None:
    """The label says how deep; a hold has no depth."""
    if kind == TreatmentKind.WATER_IN and at_most_mm is None:
        raise InvalidInputError(
            "How much may be watered in is missing.",
            field="at_most_mm", code="missing", remedy="Enter the depth that the label allows.",
        )  # fmt: skip
    if kind == TreatmentKind.HOLD_WATER and at_most_mm is not None:
        raise InvalidInputError(
            "Where water is held there is no depth to water in.",
            field="at_most_mm", code="depth-without-water", remedy="Leave the depth out.",
        )  # fmt: skip
