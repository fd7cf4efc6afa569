"""One lateral looked at as a whole: what it takes from the pressure, and what to say of it."""

from __future__ import annotations

from dataclasses import dataclass

from audits.domain.catch_advice import Advice
from audits.domain.nozzles import PRESSURE_KPA
from audits.domain.pipes import (
    DESIGN_KPA,
    MAX_PRESSURE_SPREAD,
    friction_loss_kpa_per_100m,
    lateral_loss_kpa,
    pressure_spread_ok,
    velocity_advice,
    velocity_m_s,
)


@dataclass(frozen=True)
class LateralCheck:
    """Friction at full flow [kPa per 100 m], loss to the last outlet [kPa], speed [m/s]."""

    friction_kpa_per_100m: float
    loss_kpa: float
    velocity_m_s: float
    is_spread_ok: bool
    advice: tuple[Advice, ...]


def check_lateral(
    *,
    flow_l_min: float,
    inside_diameter_mm: float,
    length_m: float,
    outlets: int,
    design_kpa: float,
) -> LateralCheck:
    """Return how a level lateral of smooth plastic pipe serves its heads.

    Parameters
    ----------
    flow_l_min : at the inlet [L/min], 0 to 20 000.
    inside_diameter_mm : the same all along [mm], 1 to 1000.
    length_m : from the inlet to the last outlet [m], 0 to 10 000.
    outlets : equal heads at equal distances, 1 to 10 000.
    design_kpa : the pressure that the heads are meant for [kPa], 1 to 2500.

    References
    ----------
    See `lateral_loss_kpa`, `pressure_spread_ok` and `velocity_advice`.
    """
    design = DESIGN_KPA.number(design_kpa, field="design_kpa")
    loss = float(lateral_loss_kpa(flow_l_min, inside_diameter_mm, length_m, outlets))
    # A loss beyond any supply is too much, whatever it comes to.
    is_ok = bool(pressure_spread_ok(min(loss, PRESSURE_KPA.high), design))
    fast = velocity_advice(flow_l_min, inside_diameter_mm)
    return LateralCheck(
        friction_kpa_per_100m=float(friction_loss_kpa_per_100m(flow_l_min, inside_diameter_mm)),
        loss_kpa=loss,
        velocity_m_s=float(velocity_m_s(flow_l_min, inside_diameter_mm)),
        is_spread_ok=is_ok,
        advice=(*(() if is_ok else (_spread_advice(loss / design),)), *((fast,) if fast else ())),
    )


def _spread_advice(share: float) -> Advice:
    return Advice(
        code="lateral-loss-too-large",
        sentence=(
            f"The lateral takes {share:.0%} of the design pressure, above "
            f"{MAX_PRESSURE_SPREAD:.0%}. A wider pipe, a feed from its middle or fewer heads "
            "bring the heads nearer to each other."
        ),
        source="USDA NRCS sprinkler practice (from memory): 20 % of the design pressure",
    )
