"""From what is read in a catch cup to a depth of water on the ground."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from audits.domain.ranges import FloatOrArray, Range
from properties.domain.errors import InvalidInputError

DEPTH_MM: Final = Range("catch depth", "mm", 0.0, 300.0)
VOLUME_ML: Final = Range("caught volume", "mL", 0.0, 50_000.0)
CUPS: Final = Range("number of cups", "cups", 1, 1000)
# From the narrowest tube that can be read to a tub of 80 cm.
THROAT_AREA_CM2: Final = Range("throat area", "cm2", 0.5, 5000.0)
# Entered areas may differ by rounding; 1 % moves no statistic that is reported.
SAME_THROAT_TOLERANCE: Final = 0.01

# 1 mL spread over 1 cm2 stands 1 cm deep.
_MM_PER_CM: Final = 10.0


class CupShape(StrEnum):
    """What the inside of a cup looks like from the rim down."""

    STRAIGHT_WALLED = "straight_walled"
    TAPERED = "tapered"


def ruler_depths_mm(depths_mm: ArrayLike, cup_shape: CupShape) -> FloatOrArray:
    """Return depths read with a ruler, which only a straight-walled cup shows truly.

    Parameters
    ----------
    depths_mm : what the ruler read, one cup or many, any shape [mm], 0 to 300.
    cup_shape : the shape of the cup that the ruler stood in.

    Raises
    ------
    InvalidInputError
        Code "ruler-in-tapered-cup", or "out-of-range" for a depth.
    """
    if CupShape(cup_shape) is CupShape.TAPERED:
        raise InvalidInputError(
            "A ruler in a tapered cup reads deeper than the water that fell on the ground.",
            field="cup_shape", code="ruler-in-tapered-cup",
            remedy="Measure the volume and give the throat (rim) area.",
        )  # fmt: skip
    return DEPTH_MM.numbers(depths_mm, field="depths_mm")[()]


def depth_mm_from_volume(volume_ml: ArrayLike, throat_area_cm2: ArrayLike | None) -> FloatOrArray:
    """Return the depth of water that a caught volume stands for.

    Parameters
    ----------
    volume_ml : caught volume, any shape [mL], 0 to 50 000.
    throat_area_cm2 : area of the opening at the rim [cm2], 0.5 to 5000.

    Returns
    -------
    depth [mm], the shape of the volumes.

    Raises
    ------
    InvalidInputError
        For a missing area, a value out of range or a depth above 300 mm.

    References
    ----------
    Irrigation Association, Landscape Irrigation Auditor worksheet "Catch Device Test": the net
    rate in in/h is 3.66 x mL / (minutes x in2), the same relation in US units.
    """
    volumes = VOLUME_ML.numbers(volume_ml, field="volume_ml")
    areas = THROAT_AREA_CM2.numbers(throat_area_cm2, field="throat_area_cm2")
    return DEPTH_MM.numbers(
        volumes / areas * _MM_PER_CM,
        field="volume_ml",
        remedy="Check the volume and the throat area, and their units.",
    )[()]


def pooled_depth_from_volume_mm(volume_ml: float, cups: int, rim_area_cm2: float | None) -> float:
    """Return the MEAN depth per cup of cups whose water was measured as one volume.

    The result is already divided by the number of cups: it is not the depth in one cup that
    `pooled_catch_test` takes. `pooled_catch_test_from_volume` makes the test from the volume.

    Parameters
    ----------
    volume_ml : the water of all cups together [mL].
    cups : how many equal cups were poured together, 1 to 1000.
    rim_area_cm2 : area of the opening of one cup [cm2], 0.5 to 5000.

    Raises
    ------
    InvalidInputError
        As `depth_mm_from_volume`, and for a number of cups that is not whole or in range.
    """
    one_cup_ml = VOLUME_ML.number(volume_ml, field="volume_ml") / CUPS.whole(cups, field="cups")
    return float(depth_mm_from_volume(one_cup_ml, rim_area_cm2))


def same_throat_area_cm2(throat_areas_cm2: ArrayLike) -> float:
    """Return the throat area that all cups of a test share, equal within 1 % [cm2].

    Raises
    ------
    InvalidInputError
        Code "unequal-cups": volumes of unequal cups cannot be compared.
    """
    areas = THROAT_AREA_CM2.numbers(throat_areas_cm2, field="throat_areas_cm2")
    if areas.size == 0:
        raise no_cups("throat_areas_cm2")
    if np.ptp(areas) > SAME_THROAT_TOLERANCE * areas.max():
        raise InvalidInputError(
            f"The cups have throat areas from {areas.min():g} to {areas.max():g} cm2.",
            field="throat_areas_cm2", code="unequal-cups",
            remedy="Repeat the test with cups of one size.",
        )  # fmt: skip
    return float(areas.mean())


def wetted_depths_mm(depths_mm: ArrayLike) -> NDArray[np.float64]:
    """Return depths of tests along the last axis, each test with at least one wet cup [mm].

    Raises
    ------
    InvalidInputError
        Code "no-cups", "out-of-range" or "all-dry".
    """
    depths = DEPTH_MM.numbers(depths_mm, field="depths_mm")
    if depths.ndim == 0 or depths.shape[-1] == 0:
        raise no_cups("depths_mm")
    if not depths.any(axis=-1).all():
        raise InvalidInputError(
            "All cups are dry, so there is no rate to measure.",
            field="depths_mm", code="all-dry",
            remedy="Record a finding instead: the zone does not come on, or its heads are clogged.",
        )  # fmt: skip
    return depths


def no_cups(field: str) -> InvalidInputError:
    """Return the refusal of a test without cups."""
    return InvalidInputError(
        "The test holds no cups.",
        field=field, code="no-cups", remedy="Enter the depth of at least one cup.",
    )  # fmt: skip
