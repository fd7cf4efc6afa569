"""The words in which water is said to explain a symptom, or not; none of them is a diagnosis."""

from __future__ import annotations

from enum import StrEnum
from typing import Final


class SymptomKind(StrEnum):
    """What a technician sees on plants or ground, told by its look."""

    RING_OR_PATCH_DISEASE = "ring_or_patch_disease"
    CHEWING_INSECTS = "chewing_insects"
    SUCKING_INSECTS = "sucking_insects"
    DROUGHT_STRESS = "drought_stress"
    MOSS_OR_ALGAE = "moss_or_algae"
    PUDDLING = "puddling"


class Explains(StrEnum):
    """What of the water explains a symptom."""

    TOO_MUCH = "too_much"
    TOO_LITTLE = "too_little"
    UNEVEN = "uneven"
    NOT_WATER = "not_water"
    UNKNOWN = "unknown"


class Confidence(StrEnum):
    """How sure a verdict is."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"


SYMPTOM_WORDS: Final[dict[SymptomKind, str]] = {
    SymptomKind.RING_OR_PATCH_DISEASE: "the rings or patches",
    SymptomKind.CHEWING_INSECTS: "the chewed plants",
    SymptomKind.SUCKING_INSECTS: "the signs of sucking insects",
    SymptomKind.DROUGHT_STRESS: "the wilted or faded plants",
    SymptomKind.MOSS_OR_ALGAE: "the moss or algae",
    SymptomKind.PUDDLING: "the puddles",
}

# Common practice, as what water favours.
_DRY_PLANTS: Final = "plants kept short of water suffer from insects more often"
WHY: Final[dict[SymptomKind, str]] = {
    SymptomKind.RING_OR_PATCH_DISEASE: "wet ground favours disease, in low spots first",
    SymptomKind.CHEWING_INSECTS: _DRY_PLANTS,
    SymptomKind.SUCKING_INSECTS: _DRY_PLANTS,
    SymptomKind.DROUGHT_STRESS: "the roots run dry between waterings",
    SymptomKind.MOSS_OR_ALGAE: "moss and algae thrive where the ground stays wet",
    SymptomKind.PUDDLING: "the ground does not take up all that it gets",
}

# Common agronomy: waterlogged roots lack air, and the plant wilts over wet ground.
WET_ROOTS: Final = "roots that stand wet cannot draw water"

SENTENCES: Final[dict[Explains, str]] = {
    Explains.TOO_MUCH: "At least at times the zone gets more water than it needs, "
    "which {sure} {symptom}: {why}.",
    Explains.TOO_LITTLE: "At least at times the zone gets less water than it needs, "
    "which {sure} {symptom}: {why}.",
    Explains.UNEVEN: "The zone is not wet alike all over, which {sure} {symptom}: {why}.",
    Explains.NOT_WATER: "The water {sure_not} {symptom}; another cause is to be sought.",
    Explains.UNKNOWN: "What is known of the water does not tell whether it explains {symptom}.",
}
SURE: Final[dict[Confidence, str]] = {
    Confidence.LOW: "may explain",
    Confidence.MEDIUM: "probably explains",
    Confidence.HIGH: "explains",
}
SURE_NOT: Final[dict[Confidence, str]] = {
    Confidence.LOW: "may well not explain",
    Confidence.MEDIUM: "probably does not explain",
    Confidence.HIGH: "does not explain",
}

_PLANT_HEALTH: Final = (
    "To have the cause named, ask a licensed plant-health professional, the county extension "
    "office or a diagnostic laboratory."
)
_STANDING_WATER: Final = (
    "Ask the technician to look for a leak, a low spot or runs longer than the soil can take; "
    "on soil that does not drain, ask the county extension office."
)
ASK: Final[dict[SymptomKind, str]] = dict.fromkeys(SymptomKind, _PLANT_HEALTH) | {
    SymptomKind.PUDDLING: _STANDING_WATER
}


def verdict_sentence(symptom: SymptomKind, explains: Explains, confidence: Confidence) -> str:
    """Return the one sentence that says what the water says of a symptom."""
    is_drowned = symptom is SymptomKind.DROUGHT_STRESS and explains is Explains.TOO_MUCH
    return SENTENCES[explains].format(
        symptom=SYMPTOM_WORDS[symptom],
        why=WET_ROOTS if is_drowned else WHY[symptom],
        sure=SURE[confidence],
        sure_not=SURE_NOT[confidence],
    )
