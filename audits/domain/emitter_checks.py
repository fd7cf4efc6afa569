"""What single emitters of a drip zone dripped, and what that says of the zone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from audits.domain.catch_advice import MIN_READ_VOLUME_ML, Advice
from audits.domain.point_sources import EMITTER_L_MIN, emission_uniformity
from audits.domain.ranges import FloatOrArray, Range
from properties.domain.errors import InvalidInputError

CATCH_S: Final = Range("time of the catch", "s", 1.0, 7200.0)
CAUGHT_ML: Final = Range("volume of an emitter", "mL", 0.0, 50_000.0)
EMITTERS: Final = Range("number of emitters", "emitters", 1, 500)

ENOUGH_EMITTERS: Final = 16
EVEN_FROM: Final = 0.8
POOR_BELOW: Final = 0.7
# Common practice: an emitter that keeps within a tenth of its catalogue flow is as it should be.
FLOW_TOLERANCE: Final = 0.10
# Common practice: a few dry emitters are cleared in passing; more tell of the water or the filter.
FEW_DRY: Final = 0.10
_S_PER_MIN: Final = 60.0
_ML_PER_L: Final = 1000.0

_FIELD_EVALUATION: Final = (
    "Merriam and Keller 1978, Farm Irrigation System Evaluation (from memory): 16 places, four "
    "along each of four laterals; 0.8 to 0.9 good, 0.7 to 0.8 fair, below 0.7 poor"
)
_CATCH_SIZE: Final = "Irrigation Association guidelines (from memory)"
_COMMON_PRACTICE: Final = "common practice"


@dataclass(frozen=True)
class EmitterResult:
    """Flows of the emitters [L/min], their mean, their evenness, and how many drip nothing.

    Mean and evenness are those of all emitters, dry ones too; those of the emitters that drip
    are what a plan may go by.
    """

    flows_l_min: tuple[float, ...]
    mean_flow_l_min: float
    emission_uniformity: float
    dry_emitters: int

    @property
    def emitters(self) -> int:
        return len(self.flows_l_min)

    @property
    def dry_part(self) -> float:
        return self.dry_emitters / self.emitters

    @property
    def dripping_flow_l_min(self) -> float:
        return self.mean_flow_l_min / (1.0 - self.dry_part)

    @property
    def dripping_uniformity(self) -> float:
        return uniformity_of_dripping(self.flows_l_min)


def caught_flows_l_min(volumes_ml: ArrayLike, catch_s: float) -> FloatOrArray:
    """Return the flow of each emitter from what it dripped into a cup.

    Parameters
    ----------
    volumes_ml : caught of each emitter [mL], 0 to 50 000, any shape; 0 where nothing dripped.
    catch_s : how long each was caught [s], 1 to 7200.

    Returns
    -------
    flows [L/min], the shape of the volumes.
    """
    volumes = CAUGHT_ML.numbers(volumes_ml, field="volumes_ml")
    seconds = CATCH_S.number(catch_s, field="catch_s")
    return volumes / _ML_PER_L / seconds * _S_PER_MIN


def emitter_result(flows_l_min: ArrayLike, *, field: str = "flows_l_min") -> EmitterResult:
    """Return mean flow, evenness and the dry ones of the emitters of a zone.

    Parameters
    ----------
    flows_l_min : one flow for each emitter [L/min], 0 to 10; 1 to 500 emitters, not all dry.
    field : how a refusal names the readings.

    Raises
    ------
    InvalidInputError
        Code "all-dry", "missing" or "out-of-range".

    References
    ----------
    See `emission_uniformity`.
    """
    flows = np.atleast_1d(EMITTER_L_MIN.numbers(flows_l_min, field=field))
    EMITTERS.whole(flows.size, field=field)
    if not flows.any():
        raise InvalidInputError(
            "No emitter drips, so there is no flow to measure.",
            field=field, code="all-dry",
            remedy="Record a finding instead: the valve does not open, or all are clogged.",
        )  # fmt: skip
    return EmitterResult(
        flows_l_min=tuple(float(flow) for flow in flows),
        mean_flow_l_min=float(flows.mean()),
        emission_uniformity=float(emission_uniformity(flows)),
        dry_emitters=int((flows == 0.0).sum()),
    )


def uniformity_of_dripping(flows_l_min: ArrayLike) -> float:
    """Return how evenly those emitters drip that drip at all, as a fraction from 0 to 1.

    Parameters
    ----------
    flows_l_min : one flow for each emitter [L/min], 0 to 10; not all dry.

    Raises
    ------
    InvalidInputError
        Code "no-emitters" if none drips; "missing" or "out-of-range".

    References
    ----------
    See `emission_uniformity`. A dry emitter is to be mended, not watered around: longer runs give
    nothing through it (common practice).
    """
    flows = np.atleast_1d(EMITTER_L_MIN.numbers(flows_l_min, field="flows_l_min"))
    return float(emission_uniformity(flows[flows > 0.0]))


def emitter_advice(
    result: EmitterResult,
    *,
    least_volume_ml: float | None = None,
    rated_flow_l_min: float | None = None,
) -> tuple[Advice, ...]:
    """Return what to say of a check; nothing of it refuses the check.

    Parameters
    ----------
    result : of the check.
    least_volume_ml : smallest volume that was caught of an emitter that drips [mL]; None where
        flows were given.
    rated_flow_l_min : mean catalogue flow of the zone's emitters [L/min]; None is unknown.

    References
    ----------
    Merriam and Keller 1978 (from memory) for the number of emitters and the classes; the rest is
    common practice.
    """
    return (
        *_of_dryness(result),
        *_of_number(result),
        *_of_evenness(result),
        *_of_volume(least_volume_ml),
        *_of_catalogue(result, rated_flow_l_min),
    )


def _of_number(result: EmitterResult) -> Iterator[Advice]:
    if result.emitters < ENOUGH_EMITTERS:
        yield Advice(
            "too-few-emitters",
            f"{result.emitters} emitters tell little of a zone; catch at least "
            f"{ENOUGH_EMITTERS}, from first to last on the first, the last and two laterals "
            "between.",
            _FIELD_EVALUATION,
        )


def _of_dryness(result: EmitterResult) -> Iterator[Advice]:
    if not result.dry_emitters:
        return
    yield Advice(
        "dry-emitters",
        f"{result.dry_emitters} of {result.emitters} emitters drip nothing, and longer runs would "
        "give nothing through them. Clear or replace them first, flush the laterals, and check "
        "again; until then the run times go by the emitters that drip.",
        _COMMON_PRACTICE,
    )
    if result.dry_part > FEW_DRY:
        yield Advice(
            "many-dry-emitters",
            f"{result.dry_part:.0%} of the emitters are dry, more than {FEW_DRY:.0%}: the water or "
            "the filter clogs them. Look at the filter and at what the water carries before "
            "mending them one by one.",
            _COMMON_PRACTICE,
        )


def _of_evenness(result: EmitterResult) -> Iterator[Advice]:
    """Judge the emitters that drip: what is dry has been told already."""
    even = result.dripping_uniformity
    if even < EVEN_FROM:
        word = "poorly" if even < POOR_BELOW else "only fairly"
        yield Advice(
            "uneven-emitters",
            f"The emitters that drip do so {word} alike ({even:.2f} of 1; sound drip keeps above "
            f"{EVEN_FROM:g}). Look for clogging, and for pressure lost along the laterals.",
            _FIELD_EVALUATION,
        )


def _of_volume(least_volume_ml: float | None) -> Iterator[Advice]:
    if least_volume_ml is not None and least_volume_ml < MIN_READ_VOLUME_ML:
        yield Advice(
            "catch-too-small",
            f"The smallest catch is {least_volume_ml:.3g} mL; catch longer, until each has at "
            f"least {MIN_READ_VOLUME_ML:g} mL.",
            _CATCH_SIZE,
        )


def _of_catalogue(result: EmitterResult, rated_flow_l_min: float | None) -> Iterator[Advice]:
    if not rated_flow_l_min:
        return
    part = result.dripping_flow_l_min / rated_flow_l_min
    if abs(part - 1.0) > FLOW_TOLERANCE:
        yield Advice(
            "flow-off-catalogue",
            f"The emitters that drip give {part:.0%} of their catalogue flow. Check the pressure, "
            "the filter, and whether the list of heads is right.",
            _COMMON_PRACTICE,
        )
