"""An invented property whose summary exercises every kind of zone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from properties.domain.site import HeadKind, PlantType, SoilTexture
from properties.domain.units import System
from reports.domain.audit_summary import (
    AuditSummary,
    Cup,
    Mend,
    MonthSetting,
    Severity,
    WeatherNote,
    ZoneSeason,
    ZoneSummary,
)
from reports.domain.audit_wording import headline, zone_meaning
from reports.domain.cautions import standard_cautions, standard_method_notes

JULY = 7
REST_BELOW_MM = 6.0
# Weekly need of turf in full sun [mm], January to December: the shape of a hot-summer year.
TURF_NEED_MM = (5.0, 9.0, 16.0, 24.0, 32.0, 40.0, 44.0, 39.0, 28.0, 17.0, 8.0, 4.0)
FRONT_CUPS_MM = (11.9, 10.2, 6.1, 9.4, 8.6, 3.8, 12.7, 9.1, 4.3, 10.7, 7.9, 0.0)
BACK_CUPS_MM = (7.1, 6.6, 6.9, 5.8, 7.4, 6.4, 6.1, 7.9, 5.6, 6.8, 7.0, 6.3)


def make_zone(number: int = 1, **changes: Any) -> ZoneSummary:
    zone = ZoneSummary(
        number=number, name="Front lawn", head_kind=HeadKind.SPRAY, plant=PlantType.COOL_TURF,
        soil=SoilTexture.CLAY_LOAM, area_m2=228.0, rate_mm_h=31.6, rate_interval_mm_h=(26.1, 37.0),
        du_lq=0.34, du_lh=0.62, cu=0.64, cups=12, rating="poor", found_weekly_mm=88.0,
        needed_weekly_mm=TURF_NEED_MM[JULY - 1], cups_detail=in_a_grid(FRONT_CUPS_MM),
    )  # fmt: skip
    return with_meaning(replace(zone, **changes))


def with_meaning(zone: ZoneSummary) -> ZoneSummary:
    meaning = zone_meaning(
        month=JULY, found_weekly_mm=zone.found_weekly_mm, needed_weekly_mm=zone.needed_weekly_mm,
        du_lq=zone.du_lq, pooled=zone.pooled, estimated=zone.estimated,
    )  # fmt: skip
    return replace(zone, meaning=meaning)


def in_a_grid(depths_mm: tuple[float, ...], columns: int = 4) -> tuple[Cup, ...]:
    return tuple(
        Cup(depth_mm=depth, x_m=4.0 * (place % columns), y_m=-3.5 * (place // columns))
        for place, depth in enumerate(depths_mm)
    )


def make_season(
    zone: int = 1, *, share: float = 1.0, cycles: int = 1, estimated: bool = False
) -> ZoneSeason:
    """A season with steady minutes and shrinking days; `share` scales the need of turf."""
    return ZoneSeason(
        zone=zone,
        months=tuple(
            make_month(month, need * share, cycles=cycles, estimated=estimated)
            for month, need in enumerate(TURF_NEED_MM, start=1)
        ),
    )


def make_month(
    month: int, needed_mm: float, *, cycles: int, estimated: bool = False
) -> MonthSetting:
    if needed_mm < REST_BELOW_MM:
        return MonthSetting(
            month=month, days_between=None, needed_mm=needed_mm, estimated=estimated
        )
    days = max(1, min(14, int(13.0 * 7 / needed_mm)))
    return MonthSetting(
        month=month, days_between=days, minutes=34.0, cycles=cycles, cycle_min=34.0 / cycles,
        soak_min=40.0 if cycles > 1 else 0.0, weekly_mm=15.5 * 7 / days, needed_mm=needed_mm,
        estimated=estimated,
    )  # fmt: skip


def six_zones() -> tuple[ZoneSummary, ...]:
    none: dict[str, Any] = {
        "du_lq": None,
        "du_lh": None,
        "cu": None,
        "rating": "",
        "cups_detail": (),
    }
    return (
        make_zone(
            1, advice=("The wind was close to the limit of the test: 2.1 m/s of 2.2 m/s.",)
        ),
        make_zone(
            2, name="Back lawn", head_kind=HeadKind.ROTOR, area_m2=412.0, rate_mm_h=13.2,
            rate_interval_mm_h=(12.2, 14.2), du_lq=0.87, du_lh=0.92, cu=0.90, rating="excellent",
            found_weekly_mm=54.0, cups_detail=in_a_grid(BACK_CUPS_MM),
        ),
        make_zone(
            3, name="Side strip by the drive", area_m2=46.0, rate_mm_h=40.9, pooled=True,
            rate_interval_mm_h=(32.0, 51.0), cups=8, found_weekly_mm=62.0, **none,
        ),
        make_zone(
            4, name="Rose beds", head_kind=HeadKind.DRIP, plant=PlantType.WOODY_DRY_CLIMATE,
            soil=SoilTexture.LOAM, area_m2=38.0, rate_mm_h=15.0, rate_interval_mm_h=None, cups=0,
            estimated=True, found_weekly_mm=9.0, needed_weekly_mm=22.0, **none,
        ),
        make_zone(
            5, name="Slope behind the garage", head_kind=HeadKind.ROTARY_NOZZLE, area_m2=120.0,
            rate_mm_h=11.4, rate_interval_mm_h=(9.2, 13.8), pooled=True, cups=12,
            found_weekly_mm=None, **none,
        ),
        make_zone(
            6, name="Orchard", head_kind=HeadKind.BUBBLER, plant=PlantType.WOODY_WET_CLIMATE,
            soil=SoilTexture.SANDY_LOAM, area_m2=90.0, rate_mm_h=24.0, rate_interval_mm_h=None,
            cups=0, estimated=True, found_weekly_mm=25.0, needed_weekly_mm=26.0, **none,
        ),
    )  # fmt: skip


def six_seasons() -> tuple[ZoneSeason, ...]:
    return (
        make_season(1, cycles=2), make_season(2, cycles=3), make_season(3, cycles=4),
        make_season(4, share=0.5, estimated=True), make_season(5, cycles=3),
        make_season(6, share=0.6, estimated=True),
    )  # fmt: skip


def five_mends() -> tuple[Mend, ...]:
    return (
        Mend(zone=1, what="Straighten two leaning heads", severity=Severity.THIS_SEASON,
             evidence="A dry wedge behind each: cups 6 and 9"),
        Mend(zone=1, what="Replace the head at the walk", severity=Severity.AT_ONCE,
             evidence="Cup 12 stayed dry; the riser is cracked"),
        Mend(zone=3, what="Turn three heads off the drive", severity=Severity.THIS_SEASON,
             evidence="Water on paving over the whole strip"),
        Mend(zone=None, what="New battery for the controller",
             severity=Severity.WHEN_CONVENIENT, evidence="The clock was 3 h slow",
             done_on_the_spot=True),
        Mend(zone=5, what="Clean the seat of the valve", severity=Severity.AT_ONCE,
             evidence="The meter turned with all zones off"),
    )  # fmt: skip


def full_visit(system: System = "us", **changes: Any) -> AuditSummary:
    """Six zones, three of them drawn, advice for five of them, six repairs, every caution."""
    few = "An audit takes at least 24 cups, and this test has {}."
    pooled = "A rate to within a quarter may take 8 cups, and this test has 4."
    advices = (few.format(12), pooled, few.format(8), few.format(12), pooled, "")
    zones = [
        replace(zone, advice=(advice,) if advice else ())
        for zone, advice in zip(six_zones(), advices, strict=True)
    ]
    zones[3] = make_zone(4, name="Rose beds", advice=zones[3].advice, found_weekly_mm=9.0)
    mend = Mend(
        zone=2, what="Does not reach the next head (2 heads). Restore the throw: nozzle, pressure "
        "or spacing.", severity=Severity.THIS_SEASON, evidence="Along the fence, by the mailbox",
    )  # fmt: skip
    return make_summary(
        system, zones=tuple(zones), mends=(*five_mends(), mend),
        **({"cautions": standard_cautions(reclaimed_water=True)} | changes),
    )  # fmt: skip


def many_mends(count: int) -> tuple[Mend, ...]:
    return tuple(five_mends()[place % 5] for place in range(count))


def make_summary(system: System = "us", **changes: Any) -> AuditSummary:
    zones = changes.setdefault("zones", six_zones())
    mends = changes.setdefault("mends", five_mends())
    season = changes.setdefault("season", six_seasons())
    content: dict[str, Any] = {
        "company_name": "Quillback Lawn Care",
        "company_contact": "office@quillback.example",
        "customer_name": "Ottoline Farrow",
        "property_name": "Farrow residence",
        "address_lines": ("14 Larkspur Row", "Tarn Hollow"),
        "visit_date": date(2026, 5, 19),
        "technician_name": "Ines Quade",
        "headline": headline(zones, mends, month=JULY, season=season),
        "hottest_month": JULY,
        "cautions": standard_cautions(),
        "method_notes": standard_method_notes(),
        "weather": WeatherNote(station="Tarn Hollow airfield", first_year=2004, last_year=2024),
        "rain_rule": "After a soaking rain skip two days; after twice as much, skip four.",
    }
    return AuditSummary(system=system, **(content | changes))


def many_zones(count: int) -> AuditSummary:
    six = six_zones()
    zones = tuple(replace(six[place % 6], number=place + 1) for place in range(count))
    season = tuple(make_season(zone.number, cycles=2) for zone in zones)
    return make_summary("metric", zones=zones, season=season)
