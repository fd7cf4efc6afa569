"""How a tap or main gives way as heads are added to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from numpy.typing import ArrayLike

from audits.domain.flow_checks import pressure_drop_kpa
from audits.domain.heads import HEADS, HeadGroupFacts, zone_nozzle_flow_l_min
from audits.domain.nozzles import PRESSURE_KPA, RATED_KPA, nozzle_flow_l_min
from audits.domain.ranges import FLOW_L_MIN, FloatOrArray, Range

# USDA NRCS sprinkler practice (from memory): heads within 20 % of their pressure work alike; under
# that throw and pattern fail.
LEAST_WORKING_PART: Final = 0.80
_ROUNDING: Final = 1e-9
MEASURED_L_MIN: Final = Range("measured flow", "L/min", 0.1, 20_000.0)


@dataclass(frozen=True)
class SupplyCurve:
    """A supply by its static pressure [kPa] and one measured point: a flow and its pressure.

    Measure the running pressure [kPa] at the heads, so that main, valve, pipe and hose are all in
    the loss. A running pressure above the static one is refused.
    """

    static_kpa: float
    measured_flow_l_min: float
    measured_running_kpa: float

    def __post_init__(self) -> None:
        MEASURED_L_MIN.number(self.measured_flow_l_min, field="measured_flow_l_min")
        pressure_drop_kpa(self.static_kpa, self.measured_running_kpa)

    @property
    def loss_coefficient(self) -> float:
        """Return the pressure lost over the square of the flow [kPa / (L/min)2]."""
        drop_kpa = pressure_drop_kpa(self.static_kpa, self.measured_running_kpa)
        return drop_kpa / self.measured_flow_l_min**2

    def working_kpa(self, flow_at_1_kpa: ArrayLike) -> FloatOrArray:
        """Return the pressure [kPa] at which the supply and the nozzles on it agree.

        `flow_at_1_kpa` [L/min]: what all running nozzles together would let out at 1 kPa.

        References
        ----------
        The loss K Q2 grows with the square of the flow, and Q = C sqrt(P) through the nozzles;
        so P = P_static / (1 + K C2). One measured point cannot tell the exponent: in long pipes
        it is nearer 1.85, which changes the flows by a few percent.
        """
        flow = FLOW_L_MIN.numbers(flow_at_1_kpa, field="flow_at_1_kpa")
        return self.static_kpa / (1.0 + self.loss_coefficient * flow**2)


def working_pressure_kpa(groups: Iterable[HeadGroupFacts], supply: SupplyCurve) -> float:
    """Return the pressure that the supply leaves at the heads of a zone [kPa].

    Parameters
    ----------
    groups : all heads that run together, each with its rated pressure.
    supply : what feeds them.

    Raises
    ------
    InvalidInputError
        Code "no-heads"; "missing" for a head without a rated pressure.
    """
    return float(supply.working_kpa(zone_nozzle_flow_l_min(groups, 1.0)))


def is_below_working(working_kpa: float, rated_kpa: float) -> bool:
    """Return whether a pressure is too low for a head to throw and spread as it is made to.

    Parameters
    ----------
    working_kpa : at the head [kPa], 0 to 2500.
    rated_kpa : that its catalogue throw and flow stand for [kPa], 1 to 2500.

    References
    ----------
    See `LEAST_WORKING_PART`.
    """
    working = PRESSURE_KPA.number(working_kpa, field="working_kpa")
    rated = RATED_KPA.number(rated_kpa, field="rated_kpa")
    return working < rated * (LEAST_WORKING_PART - _ROUNDING)


def flow_per_head_l_min(
    heads: ArrayLike, supply: SupplyCurve, *, rated_flow_l_min: float, rated_kpa: float
) -> FloatOrArray:
    """Return what each of so many equal heads on one supply lets out.

    More heads let out more together and less each; on a weak supply two let out half each.

    Parameters
    ----------
    heads : how many run together, 1 to 2000, any shape.
    supply : what feeds them.
    rated_flow_l_min : flow of one at its rated pressure [L/min], 0 to 20 000.
    rated_kpa : that pressure [kPa], 1 to 2500.

    Returns
    -------
    flow of one head [L/min], the shape of `heads`.
    """
    at_1_kpa = nozzle_flow_l_min(rated_flow_l_min, rated_kpa, 1.0)
    working_kpa = supply.working_kpa(HEADS.numbers(heads, field="heads") * at_1_kpa)
    return nozzle_flow_l_min(rated_flow_l_min, rated_kpa, working_kpa)


@dataclass(frozen=True)
class HeadsOnSupply:
    """So many heads on one supply: pressure left [kPa], flow of each and of all [L/min].

    `part_of_now` is what each lets out against each of those that are there now, as a fraction.
    """

    heads: int
    working_kpa: float
    flow_per_head_l_min: float
    flow_l_min: float
    part_of_now: float


def heads_on_supply(
    counts: Sequence[int], groups: Sequence[HeadGroupFacts], supply: SupplyCurve
) -> tuple[HeadsOnSupply, ...]:
    """Return for each count how such heads as a zone has would do on its supply.

    Parameters
    ----------
    counts : how many heads run together, each 1 to 2000.
    groups : the heads of the zone now, each with its rated pressure. Of several kinds, each head
        more or less counts as their mean.
    supply : what feeds them.

    Raises
    ------
    InvalidInputError
        Code "no-heads"; "missing" for a head without a rated pressure; "not-whole" or
        "out-of-range" for a count.
    """
    now = sum(group.count for group in groups)
    mean_at_1_kpa = zone_nozzle_flow_l_min(groups, 1.0) / max(now, 1)
    asked = [HEADS.whole(count, field="heads") for count in counts]
    working_kpa = supply.working_kpa([mean_at_1_kpa * count for count in (now, *asked)])
    flows = nozzle_flow_l_min(
        [mean_at_1_kpa] * (len(asked) + 1), [1.0] * (len(asked) + 1), working_kpa
    )
    flow_now, *each = (float(flow) for flow in flows)  # type: ignore[union-attr]
    pressures = [float(kpa) for kpa in working_kpa][1:]  # type: ignore[union-attr]
    return tuple(
        HeadsOnSupply(count, kpa, flow, count * flow, flow / flow_now)
        for count, kpa, flow in zip(asked, pressures, each, strict=True)
    )
