"""Fits follow the plans: where a set was fitted before, a new plan asks for it again."""

from __future__ import annotations

import datetime as dt
from typing import Final

from properties.models import Property
from properties.services.jobs import ask_for
from scheduling.domain.controller_year import YearStyle
from scheduling.selectors.controller_programs import newest_fits
from scheduling.services import job_kinds

_CONTROLLER: Final = {
    YearStyle.DAYS: job_kinds.FIT_PROGRAMS,
    YearStyle.PERCENT: job_kinds.FIT_PROGRAMS_BY_PERCENT,
}
_PROPERTY: Final = {
    YearStyle.DAYS: job_kinds.FIT_PROPERTY,
    YearStyle.PERCENT: job_kinds.FIT_PROPERTY_BY_PERCENT,
}


def kind_of_fit(style: YearStyle, *, together: bool) -> str:
    """Return the kind of job that fits one controller, or those of a property together."""
    return (_PROPERTY if together else _CONTROLLER)[style]


def ask_for_refits(property_: Property, *, now: dt.datetime) -> None:
    """Ask again for the newest fit of each controller, as it was asked for then."""
    asked = set()
    for fit in newest_fits(property_):
        together = len(fit.inputs["together"]) > 1
        kind = kind_of_fit(YearStyle(fit.inputs["asked"]), together=together)
        asked.add((kind, property_.pk if together else fit.controller_id))
    for kind, subject_id in sorted(asked):
        ask_for(kind, subject_id, asked_by=None, now=now)
