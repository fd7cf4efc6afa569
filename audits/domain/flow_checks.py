"""Where the water of a run went: through the meter, out of the nozzles, into the cups."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from audits.domain.nozzles import AREA_M2
from audits.domain.ranges import FLOW_L_MIN, FRACTION, RATE_MM_H, Range
from properties.domain.errors import InvalidInputError

READING_L: Final = Range("meter reading", "L", 0.0, 1e12)
READING_ERROR_L: Final = Range("error of a meter reading", "L", 0.0, 10_000.0)
RUN_MIN: Final = Range("time between the readings", "min", 0.1, 24 * 60.0)
VOLUME_L: Final = Range("volume", "L", 0.0, 1e9)
DIGITS: Final = Range("number of digits", "digits", 1, 12)
LITRES_PER_COUNT: Final = Range("volume of one count", "L", 0.001, 10_000.0)
STATIC_KPA: Final = Range("static pressure", "kPa", 1.0, 2500.0)
RUNNING_KPA: Final = Range("running pressure", "kPa", 0.0, 2500.0)

# Common practice: a sound nozzle keeps within about a twentieth of its catalogue flow.
NOZZLE_RELATIVE_ERROR: Final = 0.05


@dataclass(frozen=True)
class Share:
    """A part of a whole as a fraction, and what it lies between if every error fell badly."""

    value: float
    low: float
    high: float


def register_span_l(digits: int, litres_per_count: float) -> float:
    """Return the volume at which a meter's register comes round to zero [L].

    Parameters
    ----------
    digits : the wheels that turn, painted zeros left out, 1 to 12.
    litres_per_count : volume of one step of the last wheel [L], 0.001 to 10 000.
    """
    wheels = DIGITS.whole(digits, field="digits")
    return LITRES_PER_COUNT.number(litres_per_count, field="litres_per_count") * 10.0**wheels


def metered_flow_l_min(
    before_l: float, after_l: float, minutes: float, *, register_l: float | None = None
) -> float:
    """Return the mean flow between two readings of a meter.

    Parameters
    ----------
    before_l, after_l : the two readings, all else in the house shut [L], 0 or more.
    minutes : between the readings [min], 0.1 to 1440.
    register_l : where the register comes round to zero, from `register_span_l` [L]. Only if it is
        stated may the second reading be the smaller one.

    Returns
    -------
    flow [L/min], 0 to 20 000.

    Raises
    ------
    InvalidInputError
        Code "meter-ran-backwards" for a smaller second reading, if no register is stated or more
        than half of it would have run through; "beyond-register" for a reading that the register
        cannot show; "missing" or "out-of-range".
    """
    before = READING_L.number(before_l, field="before_l")
    after = READING_L.number(after_l, field="after_l")
    volume_l = after - before
    if register_l is not None:
        _check_register(max(before, after), register_l)
    if volume_l < 0.0:
        volume_l = _volume_past_zero_l(volume_l, register_l)
    return FLOW_L_MIN.number(volume_l / RUN_MIN.number(minutes, field="minutes"), field="after_l")


def metered_error_l_min(reading_error_l: float, minutes: float) -> float:
    """Return by how much a metered flow may be wrong if both readings err against each other.

    Parameters
    ----------
    reading_error_l : error of one reading, half of its smallest step [L], 0 to 10 000.
    minutes : between the readings [min], 0.1 to 1440.
    """
    error_l = READING_ERROR_L.number(reading_error_l, field="reading_error_l")
    return 2.0 * error_l / RUN_MIN.number(minutes, field="minutes")


def leak_share(
    metered_l_min: float,
    nozzle_l_min: float,
    *,
    metered_error_l_min: float = 0.0,
    nozzle_relative_error: float = NOZZLE_RELATIVE_ERROR,
) -> Share:
    """Return what part of the metered water does not come out of the nozzles.

    Parameters
    ----------
    metered_l_min : flow by the meter while one zone ran [L/min], above its error.
    nozzle_l_min : flow of the zone's nozzles at the pressure found [L/min], 0 to 20 000.
    metered_error_l_min : of the metered flow [L/min]: by the steps of the meter, from the function
        of that name, or a known part of the flow.
    nozzle_relative_error : of the nozzles' flow, as a fraction.

    Returns
    -------
    the share: a leak or worn nozzles if even `low` is above 0; clogged nozzles, low pressure or
    a wrong list of heads if even `high` is below 0; else the readings tell nothing.

    Raises
    ------
    InvalidInputError
        Code "reading-too-coarse" if the error of the meter is as large as its flow.
    """
    metered = FLOW_L_MIN.number(metered_l_min, field="metered_l_min")
    error = FLOW_L_MIN.number(metered_error_l_min, field="metered_error_l_min")
    nozzle = FLOW_L_MIN.number(nozzle_l_min, field="nozzle_l_min")
    relative = FRACTION.number(nozzle_relative_error, field="nozzle_relative_error")
    part = _part_of_metered(nozzle, relative, metered, error, field="metered_l_min")
    return Share(1.0 - part.value, 1.0 - part.high, 1.0 - part.low)


def caught_volume_l(rate_mm_h: float, area_m2: float, minutes: float) -> float:
    """Return the water that fell on an area [L], by the rate of a catch test.

    Parameters
    ----------
    rate_mm_h : measured rate [mm/h], 0 to 1000.
    area_m2 : the area that the cups stand for [m2], 0.01 to 1 000 000.
    minutes : how long the zone ran [min], 0.1 to 1440.
    """
    rate = RATE_MM_H.number(rate_mm_h, field="rate_mm_h")
    area = AREA_M2.number(area_m2, field="area_m2")
    return rate * area * RUN_MIN.number(minutes, field="minutes") / 60.0


def caught_share(
    caught_l: float,
    metered_l: float,
    *,
    caught_relative_error: float = 0.0,
    metered_error_l: float = 0.0,
) -> Share:
    """Return what part of the metered water fell on the area; the rest missed it, or leaked.

    Parameters
    ----------
    caught_l : from `caught_volume_l` [L], 0 or more.
    metered_l : through the meter in the same minutes [L], above its error.
    caught_relative_error : half width of the interval of the rate, as a fraction.
    metered_error_l : of the metered volume, both readings together [L], 0 or more.

    Raises
    ------
    InvalidInputError
        Code "caught-more-than-metered" if not even the errors explain it; "reading-too-coarse" if
        the error of the meter is as large as its volume.
    """
    caught = VOLUME_L.number(caught_l, field="caught_l")
    metered = VOLUME_L.number(metered_l, field="metered_l")
    relative = FRACTION.number(caught_relative_error, field="caught_relative_error")
    error = VOLUME_L.number(metered_error_l, field="metered_error_l")
    part = _part_of_metered(caught, relative, metered, error, field="metered_l")
    if part.low > 1.0:
        raise InvalidInputError(
            f"The cups caught {part.value:.0%} of the water that ran through the meter.",
            field="caught_l", code="caught-more-than-metered",
            remedy="Check the area, the cups and both readings of the meter.",
        )  # fmt: skip
    return part


def pressure_drop_kpa(
    static_kpa: float, running_kpa: float, *, has_booster_pump: bool = False
) -> float:
    """Return by how much the pressure falls when the water runs.

    Parameters
    ----------
    static_kpa : of the main, all water shut [kPa], 1 to 2500.
    running_kpa : at the same height while the zone runs [kPa], 0 to 2500.
    has_booster_pump : a pump behind the main may lift the pressure; the drop is then below 0.

    Raises
    ------
    InvalidInputError
        Code "running-above-static" without such a pump.
    """
    static = STATIC_KPA.number(static_kpa, field="static_kpa")
    running = RUNNING_KPA.number(running_kpa, field="running_kpa")
    if running > static and not has_booster_pump:
        raise InvalidInputError(
            f"The running pressure {running:g} kPa cannot exceed the static pressure {static:g} "
            "kPa of the main.",
            field="running_kpa", code="running-above-static",
            remedy="Read both with one gauge at one place, or state the booster pump.",
        )  # fmt: skip
    return static - running


def _part_of_metered(
    part: float, relative_error: float, metered: float, error: float, *, field: str
) -> Share:
    if metered <= error:
        raise InvalidInputError(
            "The meter moved no more than a reading may err.",
            field=field, code="reading-too-coarse",
            remedy="Let the zone run longer between the readings, or read the smallest dial.",
        )  # fmt: skip
    return Share(
        value=part / metered,
        low=part * (1.0 - relative_error) / (metered + error),
        high=part * (1.0 + relative_error) / (metered - error),
    )


def _check_register(reading_l: float, register_l: float) -> None:
    if reading_l >= READING_L.number(register_l, field="register_l"):
        raise InvalidInputError(
            f"A register that comes round at {register_l:g} L cannot show {reading_l:g} L.",
            field="register_l", code="beyond-register",
            remedy="Check the number of digits and the unit of the meter.",
        )  # fmt: skip


def _volume_past_zero_l(difference_l: float, register_l: float | None) -> float:
    # A run that fills half of a register is far less likely than two readings swapped.
    if register_l is not None and difference_l + register_l <= register_l / 2.0:
        return difference_l + register_l
    raise InvalidInputError(
        f"The second reading is {-difference_l:g} L below the first: the meter ran backwards.",
        field="after_l", code="meter-ran-backwards",
        remedy="Check the order of the readings; if the register came round to zero, state it.",
    )  # fmt: skip
