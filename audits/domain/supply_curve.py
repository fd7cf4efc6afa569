"""How a tap or main gives way as heads are added to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from numpy.typing import ArrayLike

from audits.domain.flow_checks import pressure_drop_kpa
from audits.domain.heads import HEADS, HeadGroupFacts, zone_nozzle_flow_l_min
from audits.domain.nozzles import nozzle_flow_l_min
from audits.domain.ranges import FLOW_L_MIN, FloatOrArray, Range

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
