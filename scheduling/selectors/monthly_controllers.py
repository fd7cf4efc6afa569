"""The controllers of some properties as a monthly notice tells of them, read in few queries.

What runs on a controller now is what was recorded last, found, set by us or told by the client; or
what our newest notice said, if that went out later. A client's own setting stays his until somebody
else sets or finds another one: of that, no notice is taken to be followed.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Subquery

from audits.models import ProgramSetting
from audits.models.program_settings import SettingSource
from audits.selectors.program_settings import with_programs
from properties.models import Controller, Property, Zone
from scheduling.domain.monthly_facts import (
    ClientWord,
    ControllerSteps,
    FittedSteps,
    KnownState,
    MonthlyFacts,
    Source,
    ZoneStep,
)
from scheduling.domain.program_table import ZoneName
from scheduling.domain.setting_words import ZoneSetting, zone_setting
from scheduling.models import ControllerProgram, Notice, NoticeKind, NoticeState, WateringPlan
from scheduling.selectors.set_programs import fitted_state, recorded_state

_MONTHS: Final = 12


@dataclass(frozen=True)
class _Told:
    """The newest monthly notice that went out before: its month, and when it was made."""

    period: dt.date
    made_at: dt.datetime


class GardensRead:
    """What is stored of some properties, and the facts of each for a month."""

    def __init__(self, property_ids: Sequence[UUID], period: dt.date) -> None:
        self._period = period
        self._plans = _plans(property_ids)
        self._settings = _settings(property_ids)
        self._fits = _fits(property_ids)
        self._told = _told(property_ids, period)
        self._names = _names(property_ids)

    def facts(self, property_: Property, now: dt.datetime) -> MonthlyFacts | None:
        """Return what the notice of a property is made of; None where no zone is planned."""
        plans = self._plans.get(property_.pk, {})
        if not plans:
            return None
        told = self._told.get(property_.pk)
        by_controller: dict[Controller | None, list[list[WateringPlan]]] = defaultdict(list)
        for revisions in plans.values():
            by_controller[revisions[-1].zone.controller].append(revisions)
        month = next(iter(plans.values()))[-1].months
        return MonthlyFacts(
            property_id=str(property_.pk),
            place=property_.name,
            first=self._period,
            from_date=max(self._period, now.astimezone(ZoneInfo(property_.time_zone)).date()),
            told_month=told.period if told else None,
            et0_before_mm=month[(self._period.month - 2) % _MONTHS]["et0_mm_day"],
            et0_mm=month[self._period.month - 1]["et0_mm_day"],
            controllers=tuple(
                self._controller(controller, revisions, told)
                for controller, revisions in by_controller.items()
            ),
        )

    def _controller(
        self,
        controller: Controller | None,
        plans: Iterable[list[WateringPlan]],
        told: _Told | None,
    ) -> ControllerSteps:
        if controller is None:
            return ControllerSteps(name="", zones=self._zones(plans, told, None))
        fits = self._fits.get(controller.pk, [])
        fitted = self._fitted(controller, fits, told)
        return ControllerSteps(
            name=controller.name,
            zones=self._zones(plans, told, fits[-1] if fitted else None),
            himself=self._himself(controller, told),
            fitted=fitted,
        )

    def _zones(
        self,
        plans: Iterable[list[WateringPlan]],
        told: _Told | None,
        fit: ControllerProgram | None,
    ) -> tuple[ZoneStep, ...]:
        """The zones that are not in the fitted programs, each against what was told of it."""
        in_fit: dict[str, Any] = fit.inputs["plans"] if fit else {}
        return tuple(
            ZoneStep(
                f"{newest.zone.number} {newest.zone.name}",
                _told_setting(revisions, told),
                zone_setting(newest.months[self._period.month - 1]),
                newest.is_estimated,
            )
            for revisions in plans
            if str((newest := revisions[-1]).zone_id) not in in_fit
        )

    def _fitted(
        self, controller: Controller, fits: Sequence[ControllerProgram], told: _Told | None
    ) -> FittedSteps | None:
        then = fitted_state(fits[-1], self._period.month) if fits else None
        if then is None:
            return None
        return FittedSteps(
            now=self._known(controller, fits, told),
            then=then,
            zones=self._names[controller.property_id],
            estimated=frozenset(fits[-1].inputs["estimated"]),
        )

    def _known(
        self, controller: Controller, fits: Sequence[ControllerProgram], told: _Told | None
    ) -> KnownState | None:
        setting = self._settings.get(controller.pk)
        if told and (setting is None or _is_told_later(told, setting)):
            older = [fit for fit in fits if fit.created_at <= told.made_at]
            state = fitted_state(older[-1], told.period.month) if older else None
            if state is not None:
                return KnownState(state, Source.OUR_NOTICE, told.period)
        if setting is None:
            return None
        return KnownState(recorded_state(setting), Source(setting.source), setting.since)

    def _himself(self, controller: Controller, told: _Told | None) -> ClientWord | None:
        setting = self._settings.get(controller.pk)
        if setting is None or setting.source != SettingSource.TOLD_BY_CLIENT:
            return None
        was_asked = told is not None and told.made_at >= setting.created_at
        return ClientWord(setting.since, was_asked)


def _is_told_later(told: _Told, setting: ProgramSetting) -> bool:
    """Whether our notice came after a setting that the client did not make himself."""
    if setting.source == SettingSource.TOLD_BY_CLIENT:
        return False
    return setting.created_at <= told.made_at or setting.since < told.made_at.date()


def _told_setting(plans: Sequence[WateringPlan], told: _Told | None) -> ZoneSetting | None:
    """What the plan of then said for the month that was told of."""
    if told is None:
        return None
    older = [plan for plan in plans if plan.created_at <= told.made_at]
    return zone_setting(older[-1].months[told.period.month - 1]) if older else None


def _plans(property_ids: Sequence[UUID]) -> dict[UUID, dict[UUID, list[WateringPlan]]]:
    """All plans by property and zone, in the order of the zones, the newest one last."""
    plans: dict[UUID, dict[UUID, list[WateringPlan]]] = defaultdict(lambda: defaultdict(list))
    rows = WateringPlan.objects.filter(zone__property__in=property_ids, zone__is_active=True)
    rows = rows.select_related("zone__controller").defer("inputs")
    for plan in rows.order_by("zone__number", "zone_id", "number"):
        plans[plan.zone.property_id][plan.zone_id].append(plan)
    return plans


def _settings(property_ids: Sequence[UUID]) -> dict[UUID, ProgramSetting]:
    """The newest setting of each controller."""
    newest = (
        ProgramSetting.objects.filter(controller=OuterRef("controller"))
        .order_by("-since", "-id")
        .values("pk")[:1]
    )
    rows = ProgramSetting.objects.filter(controller__property__in=property_ids, pk=Subquery(newest))
    return {setting.controller_id: setting for setting in with_programs(rows)}


def _fits(property_ids: Sequence[UUID]) -> dict[UUID, list[ControllerProgram]]:
    """The sets of whole years of each controller, the newest one last."""
    fits: dict[UUID, list[ControllerProgram]] = defaultdict(list)
    rows = ControllerProgram.objects.filter(controller__property__in=property_ids)
    for fit in rows.exclude(months=[]).defer("programs", "unmet").order_by("number"):
        fits[fit.controller_id].append(fit)
    return fits


def _told(property_ids: Sequence[UUID], period: dt.date) -> dict[UUID, _Told]:
    rows = Notice.objects.filter(
        property__in=property_ids, kind=NoticeKind.MONTHLY, state=NoticeState.SENT,
        period__lt=period,
    )  # fmt: skip
    values = rows.order_by("period", "id").values_list("property", "period", "created_at")
    return {property_: _Told(month, made_at) for property_, month, made_at in values if month}


def _names(property_ids: Sequence[UUID]) -> dict[UUID, dict[str, ZoneName]]:
    """Names of all zones: one may have been retired, or wired elsewhere, since."""
    names: dict[UUID, dict[str, ZoneName]] = defaultdict(dict)
    rows = Zone.objects.filter(property__in=property_ids)
    for pk, property_, number, name in rows.values_list("pk", "property", "number", "name"):
        names[property_][str(pk)] = ZoneName(number, name)
    return names
