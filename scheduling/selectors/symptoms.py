"""What the water record of its zone says of a symptom.

The record is cut out of the zone's water account, whose waterings are assumed from the settings of
the controller.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from audits.domain.supply import Supply
from audits.domain.symptoms import WaterVerdict
from audits.domain.water_record import FoundAgainstNeed, WaterRecord
from audits.models import PlantSymptom
from audits.selectors.symptoms import KnownWater, water_verdicts
from properties.domain.errors import DomainError
from properties.models import Zone
from scheduling.domain.water_scores import can_be_scored
from scheduling.selectors.needs import found_water_with_need
from scheduling.selectors.water_accounts import (
    WEATHER_MISSING,
    Unscored,
    ZoneAccount,
    setting_known_since,
    why_unknown,
    zone_account,
)
from scheduling.selectors.weather_outlook import local_date

# Common practice: plants show what some four weeks of water did to them.
RECORD_DAYS: Final = 28
# The account begins earlier, so that a store taken as full on its first day matters little.
DAYS_BEFORE: Final = 32
# A day short of less than this share of its need shows on no plant (common practice).
SHORT_SHARE: Final = 0.10


@dataclass(frozen=True)
class SymptomWater:
    """The water behind a symptom, and what it says; `unknown` says why there is no record.

    The record runs from `first_date` to `last_date`, the day before the symptom was seen. `found`
    is the program that ran on the day itself, against the need; None is unknown.
    """

    symptom: PlantSymptom
    first_date: dt.date
    last_date: dt.date
    record: WaterRecord | None
    unknown: Unscored | None
    found: FoundAgainstNeed | None
    found_verdict: Supply
    verdict: WaterVerdict


def symptom_with_record(symptom: PlantSymptom) -> SymptomWater:
    """Return what the water of the four weeks before says of a symptom."""
    zone = symptom.zone
    seen = local_date(zone.property, symptom.seen_at)
    first, last = seen - dt.timedelta(days=RECORD_DAYS), seen - dt.timedelta(days=1)
    record, unknown = _record(zone, first, last)
    found = _found(zone, seen)
    known = {symptom.pk: KnownWater(record, found, seen.month)}
    return SymptomWater(
        symptom=symptom,
        first_date=first,
        last_date=last,
        record=record,
        unknown=unknown,
        found=found,
        found_verdict=found.verdict_in(seen.month) if found else Supply.UNKNOWN,
        verdict=water_verdicts([symptom], known)[symptom.pk],
    )


def _found(zone: Zone, seen: dt.date) -> FoundAgainstNeed | None:
    try:
        return found_water_with_need(zone, on=seen).against_need
    except DomainError:
        return None


def _record(
    zone: Zone, first: dt.date, last: dt.date
) -> tuple[WaterRecord | None, Unscored | None]:
    since = setting_known_since(zone)
    unknown = why_unknown(since, first)
    if since is None or unknown is not None:
        return None, unknown
    begin = max(since, first - dt.timedelta(days=DAYS_BEFORE))
    try:
        account = zone_account(zone, begin, last)
    except DomainError as refusal:
        return None, Unscored(refusal.code, refusal.detail)
    days = slice((first - begin).days, None)
    if not can_be_scored(account.need_is_usual[days]):
        return None, WEATHER_MISSING
    return _cut(account, days), None


def _cut(account: ZoneAccount, days: slice) -> WaterRecord:
    """Return some days of an account; where rain is missing, what follows from it is unknown."""
    water = account.water.account
    rain_is_known = can_be_scored(account.rain_is_unknown[days])
    net_mm = water.net_mm - water.runoff_mm - water.soak_runoff_mm
    is_short = water.deficit_mm > SHORT_SHARE * water.need_mm
    return WaterRecord(
        days=RECORD_DAYS,
        applied_mm=_sum_mm(net_mm[days]),
        need_mm=_sum_mm(water.need_mm[days]),
        effective_rain_mm=_sum_mm(water.effective_rain_mm[days]) if rain_is_known else None,
        drainage_mm=_sum_mm(water.surplus_mm[days]) if rain_is_known else None,
        stress_days=int(is_short[days].sum()) if rain_is_known else None,
    )


def _sum_mm(depths: NDArray[np.float64]) -> float:
    return max(0.0, float(depths.sum()))
