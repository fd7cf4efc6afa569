"""What the water of its zone says of a symptom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db.models import QuerySet

from audits.domain.symptom_words import SymptomKind
from audits.domain.symptoms import Spot, WaterVerdict, judge
from audits.domain.water_record import FoundAgainstNeed, WaterRecord
from audits.models import PlantSymptom
from audits.selectors.zones import ruling_test_rows
from properties.models import StaffMember
from properties.selectors.scope import narrow_to_scope


@dataclass(frozen=True)
class KnownWater:
    """What a higher app knows of the water behind a symptom; None is unknown.

    `month`, 1 to 12, is that of the program by which to judge; None takes the year.
    """

    record: WaterRecord | None = None
    found: FoundAgainstNeed | None = None
    month: int | None = None


UNKNOWN_WATER: Final = KnownWater()


def visible_symptoms(staff: StaffMember, now: datetime) -> QuerySet[PlantSymptom]:
    """Return the symptoms that a member of staff may see, with all that their water depends on."""
    symptoms = PlantSymptom.objects.select_related("zone__property", "zone__controller")
    symptoms = symptoms.prefetch_related("zone__head_groups")
    return narrow_to_scope(symptoms, "visit__property", staff=staff, now=now)


def water_verdicts(
    symptoms: Sequence[PlantSymptom], known: Mapping[UUID, KnownWater] | None = None
) -> dict[UUID, WaterVerdict]:
    """Return for each symptom what the zone's ruling catch test says of it, and what is known.

    The water of the past weeks and the program against the need are known to a higher app alone,
    which lends them by the id of the symptom.
    """
    rows = ruling_test_rows({symptom.zone_id for symptom in symptoms})
    tests = {test.zone_id: test for test in rows}
    lent = known or {}
    return {
        symptom.pk: _verdict(
            symptom,
            lent.get(symptom.pk, UNKNOWN_WATER),
            test.du_lq if (test := tests.get(symptom.zone_id)) else None,
        )
        for symptom in symptoms
    }


def _verdict(symptom: PlantSymptom, water: KnownWater, du_lq: float | None) -> WaterVerdict:
    return judge(
        SymptomKind(symptom.kind),
        water.record,
        water.found,
        du_lq,
        spot=Spot(symptom.spot) if symptom.spot else None,
        month=water.month,
    )
