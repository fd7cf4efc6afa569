"""What is known of a zone when one asks what ails it; all but the head kind may be unknown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from audits.domain.faults import FaultKind, Severity
from audits.domain.ranges import FLOW_L_MIN, FRACTION, RATE_MM_H, Range
from properties.domain.errors import InvalidInputError
from properties.domain.site import Exposure, HeadKind

COUNT: Final = Range("number of heads", "heads", 1, 1000)
CUPS: Final = Range("number of cups", "cups", 1, 1000)
ARC_DEG: Final = Range("arc", "degrees", 1.0, 360.0)
THROW_M: Final = Range("throw", "m", 0.1, 100.0)
SPACING_M: Final = Range("head spacing", "m", 0.1, 100.0)
DEPTH_MM: Final = Range("catch depth", "mm", 0.0, 300.0)
WEEKLY_MM: Final = Range("weekly depth", "mm", 0.0, 2000.0)
AREA_M2: Final = Range("area", "m2", 0.01, 1_000_000.0)
PRESSURE_KPA: Final = Range("pressure", "kPa", 0.0, 2500.0)
RATED_KPA: Final = Range("rated pressure", "kPa", 1.0, 2500.0)
WIND_M_S: Final = Range("wind speed", "m/s", 0.0, 115.0)
PLACE_M: Final = Range("place of a cup", "m", -100_000.0, 100_000.0)
# Gross leaks put much more through the meter than falls on the lawn; more is caught only by error.
CAUGHT_SHARE: Final = Range("caught share", "(as a fraction of 1)", 0.0, 10.0)
METER_ERROR: Final = Range("error of the meter", "(as a fraction of 1)", 0.0, 0.5)

MONTHS: Final = 12
# Common practice: half a dial on either side in a reading of a minute or two.
USUAL_METER_ERROR: Final = 0.03


@dataclass(frozen=True, kw_only=True)
class NozzleGroup:
    """Heads of one kind and nozzle: how many, and flow [L/min] and throw [m] of each when rated."""

    kind: HeadKind
    count: int = 1
    flow_l_min: float | None = None
    rated_kpa: float | None = None
    arc_deg: float | None = None
    throw_m: float | None = None

    def __post_init__(self) -> None:
        COUNT.whole(self.count, field="count")
        for name, range_ in _GROUP_RANGES.items():
            _check(range_, getattr(self, name), name)


@dataclass(frozen=True, kw_only=True)
class FaultSeen:
    """A fault that a technician reported, on how many heads, and how bad he called it."""

    kind: FaultKind
    count: int = 1
    is_mended: bool = False
    severity: Severity | None = None

    def __post_init__(self) -> None:
        COUNT.whole(self.count, field="count")


@dataclass(frozen=True, kw_only=True)
class ZoneEvidence:
    """All that is known of one zone; None (or an empty tuple) is "not known", never "none".

    Rates [mm/h], flows [L/min], pressures [kPa], lengths [m], area [m2], depths [mm].
    `rate_interval_mm_h` holds the rate in 90 of 100 tests. `nozzle_flow_l_min` is what the heads
    pass at the pressure found, `rated_kpa` what they are made for. `meter_error` and
    `caught_share` (caught over metered) are fractions. The weekly depths run from January to
    December. `wind_m_s` is the wind during the test, `field_du_lq` the published uniformity of
    such heads in the field.
    """

    head_kind: HeadKind
    rate_mm_h: float | None = None
    rate_interval_mm_h: tuple[float, float] | None = None
    cups: int | None = None
    depths_mm: tuple[float, ...] = ()
    positions_m: tuple[tuple[float, float], ...] = ()
    du_lq: float | None = None
    nominal_rate_mm_h: float | None = None
    metered_flow_l_min: float | None = None
    meter_error: float | None = None
    nozzle_flow_l_min: float | None = None
    caught_share: float | None = None
    static_kpa: float | None = None
    running_kpa: float | None = None
    rated_kpa: float | None = None
    groups: tuple[NozzleGroup, ...] = ()
    spacing_m: float | None = None
    area_m2: float | None = None
    findings: tuple[FaultSeen, ...] = ()
    exposure: Exposure | None = None
    weekly_found_mm: tuple[float | None, ...] = ()
    weekly_needed_mm: tuple[float | None, ...] = ()
    has_runoff: bool | None = None
    has_wet_spots: bool | None = None
    has_dry_spots: bool | None = None
    wind_m_s: float | None = None
    field_du_lq: float | None = None

    def __post_init__(self) -> None:
        for name, range_ in _RANGES.items():
            _check(range_, getattr(self, name), name)
        for name in ("weekly_found_mm", "weekly_needed_mm"):
            self._check_months(name)
        self._check_interval()
        self._check_cups()

    def _check_months(self, name: str) -> None:
        months = getattr(self, name)
        if months and len(months) != MONTHS:
            raise InvalidInputError(
                f"{len(months)} months were given.", field=name, code="not-twelve-months",
                remedy="Give twelve, with none for the unknown.",
            )  # fmt: skip
        for depth in months:
            _check(WEEKLY_MM, depth, name)

    def _check_interval(self) -> None:
        if self.rate_interval_mm_h is None:
            return
        low, high = RATE_MM_H.numbers(self.rate_interval_mm_h, field="rate_interval_mm_h")
        if low > high:
            raise InvalidInputError(
                "The interval of the rate ends before it begins.",
                field="rate_interval_mm_h", code="bad-interval", remedy="Give the low end first.",
            )  # fmt: skip

    def _check_cups(self) -> None:
        DEPTH_MM.numbers(self.depths_mm, field="depths_mm")
        PLACE_M.numbers(self.positions_m, field="positions_m")
        if self.positions_m and self.depths_mm and len(self.positions_m) != len(self.depths_mm):
            raise InvalidInputError(
                f"{len(self.positions_m)} places stand for {len(self.depths_mm)} cups.",
                field="positions_m", code="places-and-cups",
                remedy="Give one place for each cup, or no places.",
            )  # fmt: skip


_GROUP_RANGES: Final = {
    "flow_l_min": FLOW_L_MIN, "rated_kpa": RATED_KPA, "arc_deg": ARC_DEG, "throw_m": THROW_M,
}  # fmt: skip
_RANGES: Final = {
    "rate_mm_h": RATE_MM_H, "cups": CUPS, "du_lq": FRACTION, "nominal_rate_mm_h": RATE_MM_H,
    "metered_flow_l_min": FLOW_L_MIN, "meter_error": METER_ERROR, "nozzle_flow_l_min": FLOW_L_MIN,
    "caught_share": CAUGHT_SHARE, "static_kpa": PRESSURE_KPA, "running_kpa": PRESSURE_KPA,
    "rated_kpa": RATED_KPA, "spacing_m": SPACING_M, "area_m2": AREA_M2, "wind_m_s": WIND_M_S,
    "field_du_lq": FRACTION,
}  # fmt: skip


def _check(range_: Range, value: float | None, name: str) -> None:
    check: Callable[..., float] = range_.whole if range_ is CUPS else range_.number
    if value is not None:
        check(value, field=name)
