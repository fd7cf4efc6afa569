"""What a monthly notice is made of: for each controller what should run, and what runs now."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from scheduling.domain.program_steps import SetState, Step, program_steps
from scheduling.domain.program_table import ZoneName
from scheduling.domain.setting_words import ZoneSetting


class Source(StrEnum):
    """By what we know what a controller is set to."""

    FOUND = "found"
    SET_BY_US = "set_by_us"
    CLIENT = "told_by_client"
    OUR_NOTICE = "our_notice"


@dataclass(frozen=True)
class ZoneStep:
    """The plan of one zone; `was` is what the client was told last, None if he never was."""

    label: str
    was: ZoneSetting | None
    now: ZoneSetting
    is_estimated: bool = False

    @property
    def changes(self) -> bool:
        """Whether the client has something to set."""
        return self.was != self.now


@dataclass(frozen=True)
class KnownState:
    """What a controller is set to, by whom, and since when."""

    state: SetState
    source: Source
    since: dt.date


@dataclass(frozen=True, kw_only=True)
class FittedSteps:
    """The fitted programs of a month against what runs now; `now` is None if nobody knows."""

    now: KnownState | None
    then: SetState
    zones: Mapping[str, ZoneName]
    estimated: frozenset[str] = frozenset()

    @property
    def steps(self) -> tuple[Step, ...]:
        """What to change; nothing where it is not known what runs."""
        return () if self.now is None else program_steps(self.now.state, self.then, self.zones)


@dataclass(frozen=True)
class ClientWord:
    """The client set the controller himself: since when, and whether he was asked about it."""

    on: dt.date
    was_asked: bool = False


@dataclass(frozen=True, kw_only=True)
class ControllerSteps:
    """A controller (no name: by hand): its fitted programs, and the zones outside of them."""

    name: str
    zones: tuple[ZoneStep, ...] = ()
    himself: ClientWord | None = None
    fitted: FittedSteps | None = None

    @property
    def is_new(self) -> bool:
        """Whether all is to be set: nobody knows what runs, or he is told for the first time."""
        if self.fitted is not None:
            return self.fitted.now is None
        return all(zone.was is None for zone in self.zones)

    @property
    def settings(self) -> int:
        """How many settings of programs change."""
        return len(self.fitted.steps) if self.fitted else 0

    @property
    def changed_zones(self) -> int:
        """How many zones outside of programs change."""
        return sum(zone.changes for zone in self.zones)

    @property
    def changes(self) -> bool:
        """Whether there is anything to set."""
        return self.is_new or bool(self.settings or self.changed_zones)

    @property
    def is_asked(self) -> bool:
        """Whether the client is to be asked if what he set still suits."""
        return self.himself is not None and not self.himself.was_asked and self.changes

    @property
    def week_min(self) -> tuple[float, float] | None:
        """How long its valves are open in a usual week, now and then [min]; None if unknown."""
        was = [zone.was for zone in self.zones if zone.was is not None]
        if self.is_new or len(was) < len(self.zones):
            return None
        before = sum(each.week_min for each in was)
        if self.fitted is None or self.fitted.now is None:
            return before, self.week_min_then
        return before + self.fitted.now.state.week_min, self.week_min_then

    @property
    def week_min_then(self) -> float:
        """How long its valves are open in a usual week of the month [min]."""
        programs = self.fitted.then.week_min if self.fitted else 0.0
        return programs + sum(zone.now.week_min for zone in self.zones)


@dataclass(frozen=True, kw_only=True)
class MonthlyFacts:
    """All of a notice; ET0 is that of a usual day of the month before and of this [mm].

    `from_date` is the day from which it is to be set; `told_month` the month that the client was
    told of last, None if never.
    """

    property_id: str
    place: str
    first: dt.date
    from_date: dt.date
    told_month: dt.date | None = None
    et0_before_mm: float
    et0_mm: float
    controllers: tuple[ControllerSteps, ...] = field(default=())

    @property
    def told(self) -> tuple[ControllerSteps, ...]:
        """The controllers that the client did not set himself."""
        return tuple(each for each in self.controllers if each.himself is None)
