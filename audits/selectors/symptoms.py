"""What the water of its zone says of a symptom."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from audits.domain.symptom_words import SymptomKind
from audits.domain.symptoms import Spot, WaterVerdict, judge
from audits.models import PlantSymptom
from audits.selectors.zones import ruling_tests


def water_verdicts(symptoms: Sequence[PlantSymptom]) -> dict[UUID, WaterVerdict]:
    """Return for each symptom what the zone's ruling catch test says of it.

    The water of the past weeks and the program against the need are known to a higher app alone.
    """
    tests = ruling_tests({symptom.zone_id for symptom in symptoms})
    return {
        symptom.pk: judge(
            SymptomKind(symptom.kind),
            du_lq=test.du_lq if (test := tests.get(symptom.zone_id)) else None,
            spot=Spot(symptom.spot) if symptom.spot else None,
        )
        for symptom in symptoms
    }
