"""What pipes, nozzles and heads ought to deliver: the one door to their topics."""

from __future__ import annotations

from audits.domain.heads import (
    found_nozzle_flow_l_min,
    head_rate_mm_h,
    matched_rate_spread,
    zone_nozzle_flow_l_min,
)
from audits.domain.nozzles import nominal_rate_mm_h, nozzle_flow_l_min, orifice_flow_l_min
from audits.domain.pipes import (
    friction_loss_kpa_per_100m,
    lateral_loss_kpa,
    multiple_outlet_factor,
    pressure_spread_ok,
    velocity_advice,
    velocity_m_s,
)

__all__ = [
    "found_nozzle_flow_l_min",
    "friction_loss_kpa_per_100m",
    "head_rate_mm_h",
    "lateral_loss_kpa",
    "matched_rate_spread",
    "multiple_outlet_factor",
    "nominal_rate_mm_h",
    "nozzle_flow_l_min",
    "orifice_flow_l_min",
    "pressure_spread_ok",
    "velocity_advice",
    "velocity_m_s",
    "zone_nozzle_flow_l_min",
]
