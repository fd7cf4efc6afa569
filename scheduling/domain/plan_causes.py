"""Which inputs of a plan changed between two revisions, in words and numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol


@dataclass(frozen=True)
class Change:
    """One number before and after; `of` is its dimension, empty for a plain one.

    `month` where it holds for one month alone.
    """

    name: str
    before: Any
    after: Any
    of: str = ""
    month: int | None = None


@dataclass(frozen=True)
class Cause:
    """Inputs of one kind that changed, in a sentence and in numbers."""

    code: str
    sentence: str
    changes: tuple[Change, ...] = ()


class Kept(Protocol):
    """What is kept of a plan's inputs."""

    @property
    def test(self) -> str | None: ...
    @property
    def station(self) -> str: ...
    @property
    def inputs(self) -> Mapping[str, Any]: ...


_MEASURED: Final = (
    ("rate_mm_h", "rate"), ("du_lq", ""), ("cups", ""), ("pooled", ""), ("estimated", ""),
)  # fmt: skip
_OF_ZONE: Final = (
    ("repair", "Something was mended after the zone was measured; a retest is awaited.",
     (("mended_on", ""),)),
    ("heads", "The kind of the heads changed, and with it the published uniformity.",
     (("head_kind", ""), ("assumed_du_lq", ""))),
    ("soil", "What is known of soil and slope changed.",
     (("soil_texture", ""), ("slope_percent", ""), ("available_mm_m", ""),
      ("intake_mm_h", "rate"), ("accumulation_mm", "depth"), ("watering_day_limit_mm", "depth"))),
    ("plants", "What is known of the plants changed: their kind, their roots or their lives.",
     (("plant_type", ""), ("plant_factors", ""), ("quality_factor", ""),
      ("root_depths_mm", "depth"), ("allowed_depletion", ""), ("life", ""))),
    ("site", "What is known of sun, wind and shade changed.", (("site_factor", ""),)),
    ("interval", "The zone's own shortest or longest time between waterings changed.",
     (("min_days_between", ""), ("max_days_between", ""))),
)  # fmt: skip
_OF_LIMITS: Final = (
    ("rule", "The watering rules changed: their days, or what they cap.",
     (("allowed_weekdays", ""), ("daily_minutes_cap", ""), ("daily_depth_cap_mm", "depth"))),
    ("controller", "The controller, or what it can do, changed.",
     (("minute_step", ""), ("longest_run_min", ""), ("max_cycles", ""),
      ("longest_interval_days", ""))),
    ("multiplier-cap", "The company's limit for making up for unevenness changed.",
     (("max_multiplier", ""),)),
)  # fmt: skip
_NOT_KEPT: Final = Cause(
    "rules-not-kept",
    "Rules and controller of the revision before were not kept: they may have changed too.",
)
_GROWN: Final = Cause("growth", "The new planting has grown since: its roots reach deeper.")
_UNKNOWN: Final = Cause(
    "unknown", "The inputs that are kept are alike: the way of computing changed, or the year did."
)


def causes_of(before: Kept, after: Kept) -> tuple[Cause, ...]:
    """Return which inputs changed between two revisions of a plan, the measured ones first.

    An input that changed without effect is named too: which of them moved a number is not said.

    Parameters
    ----------
    before, after : what is kept of each.
    """
    old, new = before.inputs, after.inputs
    causes = [*_of_test(before, after), *_of_zone(old["zone"], new["zone"])]
    causes += _of_weather(before, after)
    if "limits" in old:
        causes += _of_limits(old["limits"], new["limits"])
    if not causes:
        causes.append(_GROWN if _is_new_planting(new["zone"]) else _UNKNOWN)
    if "limits" not in old:
        causes.append(_NOT_KEPT)
    return tuple(causes)


def _of_test(before: Kept, after: Kept) -> Iterator[Cause]:
    changes = _changes(before.inputs["zone"], after.inputs["zone"], _MEASURED)
    if before.test == after.test:
        if changes:
            yield Cause("rate", "What tells the rate of the zone changed.", changes)
    elif before.test is None:
        yield Cause("test", "A catch test takes the place of the estimate.", changes)
    elif after.test is None:
        yield Cause("test", "No catch test rules any more: the rate is an estimate.", changes)
    else:
        yield Cause("test", "Another catch test rules.", changes)


def _of_zone(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[Cause]:
    for code, sentence, fields in _OF_ZONE:
        changes = _changes(old, new, fields)
        # A repair that a retest has caught up with is told by the test.
        if changes and not (code == "repair" and changes[0].after is None):
            yield Cause(code, sentence, changes)


def _of_weather(before: Kept, after: Kept) -> Iterator[Cause]:
    old, new = before.inputs["climate"], after.inputs["climate"]
    months = zip(old["et0_mm_day"], new["et0_mm_day"], strict=True)
    changes = tuple(
        Change("et0_per_day", was, now, "depth", month)
        for month, (was, now) in enumerate(months, 1)
        if was != now
    )
    if before.station != after.station:
        yield Cause("station", "The plan stands on another weather station.", changes)
    elif changes:
        yield Cause("weather", "The usual year of the weather station changed.", changes)


def _of_limits(
    old: Sequence[Mapping[str, Any]], new: Sequence[Mapping[str, Any]]
) -> Iterator[Cause]:
    months = tuple(enumerate(zip(old, new, strict=True), 1))
    for code, sentence, fields in _OF_LIMITS:
        changes = tuple(
            change
            for month, (was, now) in months
            for change in _changes(was, now, fields, month=month)
        )
        if changes:
            yield Cause(code, sentence, changes)


def _changes(
    old: Mapping[str, Any],
    new: Mapping[str, Any],
    fields: tuple[tuple[str, str], ...],
    *,
    month: int | None = None,
) -> tuple[Change, ...]:
    return tuple(
        Change(name, old.get(name), new.get(name), of, month)
        for name, of in fields
        if old.get(name) != new.get(name)
    )


def _is_new_planting(zone: Mapping[str, Any]) -> bool:
    return bool(zone["life"]["planting_date"])
