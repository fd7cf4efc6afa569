"""When holes may be dug after buried lines were asked for, and when to ask."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from properties.domain.errors import InvalidInputError

_SATURDAY, _SUNDAY = 5, 6
_DAY: Final = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class NoticeRule:
    """What a region asks between the notice to its line-marking service and the first digging.

    business_days: how many after the day of notice, which is not counted, the first day of
    digging is; longest_days: how many calendar days a notice holds; weekend: 0 = Monday to 6.
    """

    business_days: int
    longest_days: int
    source: str
    weekend: frozenset[int] = frozenset({_SATURDAY, _SUNDAY})

    def __post_init__(self) -> None:
        if not 0 <= self.business_days <= self.longest_days:
            raise InvalidInputError(
                f"{self.business_days} business days do not fit into {self.longest_days} days.",
                field="business_days", code="impossible-rule",
                remedy="Give a notice that holds longer than it takes.",
            )  # fmt: skip
        if not self.weekend < frozenset(range(7)):
            raise InvalidInputError(
                "The weekend has a day that no week has, or leaves no business day.",
                field="weekend", code="impossible-rule", remedy="Give days from 0 (Monday) to 6.",
            )  # fmt: skip


TEXAS_NOTICE: Final = NoticeRule(
    business_days=2,
    longest_days=14,
    source="texas811.org: two business days before; Tex. Utilities Code 251.151: 14 days",
)


@dataclass(frozen=True)
class DateWindow:
    """The days from `first` to `last`, both included."""

    first: date
    last: date


def earliest_digging_date(
    notice_date: date, holidays: Collection[date], rule: NoticeRule = TEXAS_NOTICE
) -> date:
    """Return the first day on which holes may be dug after a notice.

    Weekends, holidays and the day of notice are not counted. A notice on a weekend or holiday is
    taken as given on the next business day. The hour of the notice holds for the digging too: a
    notice on Monday at 10 lets dig from Wednesday at 10 in Texas.

    Parameters
    ----------
    notice_date : the day on which the marking service was told.
    holidays : the region's legal holidays.
    rule : the region's.

    References
    ----------
    texas811.org: two business days before digging, weekends and holidays excluded.
    """
    day = notice_date
    while not _is_business_day(day, holidays, rule):
        day += _DAY
    for _ in range(rule.business_days):
        day += _DAY
        while not _is_business_day(day, holidays, rule):
            day += _DAY
    return day


def latest_digging_date(notice_date: date, rule: NoticeRule = TEXAS_NOTICE) -> date:
    """Return the last day on which digging may begin on a notice.

    References
    ----------
    Tex. Utilities Code 251.151: notice not earlier than the 14th day before digging begins.
    """
    return notice_date + timedelta(days=rule.longest_days)


def digging_window(
    notice_date: date, holidays: Collection[date], rule: NoticeRule = TEXAS_NOTICE
) -> DateWindow:
    """Return the days on which digging may begin after a notice.

    Raises
    ------
    InvalidInputError
        Code "no-day-to-dig" if so many days are holidays that the notice runs out first.
    """
    window = DateWindow(
        earliest_digging_date(notice_date, holidays, rule), latest_digging_date(notice_date, rule)
    )
    return _require_a_day(window, notice_date)


def notice_window(
    digging_date: date, holidays: Collection[date], rule: NoticeRule = TEXAS_NOTICE
) -> DateWindow:
    """Return the days on which to give notice of a digging.

    Parameters
    ----------
    digging_date : the day on which digging is to begin.
    holidays, rule : as in `earliest_digging_date`.

    Raises
    ------
    InvalidInputError
        Code "no-day-to-dig" if so many days are holidays that no notice serves.
    """
    last = digging_date
    while earliest_digging_date(last, holidays, rule) > digging_date:
        last -= _DAY
    window = DateWindow(digging_date - timedelta(days=rule.longest_days), last)
    return _require_a_day(window, digging_date)


def _is_business_day(day: date, holidays: Collection[date], rule: NoticeRule) -> bool:
    return day.weekday() not in rule.weekend and day not in holidays


def _require_a_day(window: DateWindow, asked_date: date) -> DateWindow:
    if window.first > window.last:
        raise InvalidInputError(
            f"No day fits the notice for {asked_date:%Y-%m-%d}: too many holidays.",
            field="holidays", code="no-day-to-dig",
            remedy="Check the list of holidays, or choose another day.",
        )  # fmt: skip
    return window
