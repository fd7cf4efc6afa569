"""What is wrong with a controller and its programs as they were found, and what cures it.

The rules and their limits are common practice of irrigation audits. What nobody looked at (None)
is not judged.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from datetime import time
from typing import Final

from audits.domain.found_program import DAYS_PER_WEEK, SEASONAL_PERCENT, FoundProgram
from audits.domain.program_cycles import are_cycles, watering_days_per_week
from audits.domain.program_overlaps import Overlap, overlaps
from properties.domain.errors import InvalidInputError

# Within these the minutes in the programs still look like those that run (common practice).
PERCENT_NEAR_100: Final = (50.0, 150.0)
# Common practice: from then to then sun and wind take most; rules of watering often forbid it.
HEAT_OF_DAY: Final = (time(10), time(16))


@dataclass(frozen=True, kw_only=True)
class FoundSetting:
    """A controller as it was found; None is what nobody looked at.

    `zone_names` pairs the id of each zone that a program runs with what people call it. `months`
    are those, 1 to 12, in which the setting is known to have run.
    """

    programs: tuple[FoundProgram, ...] = ()
    seasonal_percent: float = 100.0
    clock_is_right: bool | None = None
    battery_is_good: bool | None = None
    has_rain_sensor: bool | None = None
    rain_sensor_works: bool | None = None
    program_count: int | None = None
    starts_per_program: int | None = None
    zone_names: tuple[tuple[Hashable, str], ...] = ()
    months: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        SEASONAL_PERCENT.number(self.seasonal_percent, field="seasonal_percent")
        for field in ("program_count", "starts_per_program"):
            if (count := getattr(self, field)) is not None and count < 1:
                raise InvalidInputError(
                    f"A controller with {count} is none.",
                    field=field, code="out-of-range", remedy="Give 1 or more, or leave it out.",
                )  # fmt: skip

    def zone_name(self, zone_id: Hashable) -> str:
        """Return what people call a zone; its id where no name is known."""
        return dict(self.zone_names).get(zone_id, str(zone_id))


@dataclass(frozen=True, kw_only=True)
class ProgramRemark:
    """One thing that is wrong: what, what it means for the water, and what cures it.

    `programs` names the programs that it is about, `zones` their zones by id; both are empty for
    what concerns the whole controller.
    """

    code: str
    sentence: str
    effect: str
    remedy: str
    programs: tuple[str, ...] = ()
    zones: tuple[Hashable, ...] = ()

    def concerns(self, zone_id: Hashable) -> bool:
        """Whether it is about the water of a zone."""
        return not self.programs or zone_id in self.zones


def program_remarks(found: FoundSetting) -> tuple[ProgramRemark, ...]:
    """Return what is wrong with a controller as found, the controller itself first.

    Parameters
    ----------
    found : the controller's state with every program, leftover ones too; times on its own clock
        and minutes [min] before the seasonal percentage [%], 0 to 300.

    Returns
    -------
    the remarks, each with its code: "clock-wrong", "battery-dead", "no-rain-sensor",
    "rain-sensor-broken", "more-programs-than-controller", "percent-far-from-100",
    "no-named-weekday", "more-starts-than-controller", "runs-overlap", "start-in-the-heat" and
    "leftover-start".

    References
    ----------
    Common practice of irrigation audits, for the rules as for the limits of the percentage.
    """
    of_controller = (_device, _rain_sensor, _program_count, _percent)
    of_programs = (_days, _starts, _overlapping, _heat, _again)
    return tuple(remark for rule in of_controller + of_programs for remark in rule(found))


def _device(found: FoundSetting) -> Iterator[ProgramRemark]:
    if found.clock_is_right is False:
        yield ProgramRemark(
            code="clock-wrong",
            sentence="The controller's clock is wrong.",
            effect="Every start is off by as much: water may run in the heat of the day, or in"
            " hours and on days when it is not allowed.",
            remedy="Set day and time, then look at each start again.",
        )
    if found.battery_is_good is False:
        yield ProgramRemark(
            code="battery-dead",
            sentence="The controller's battery is dead.",
            effect="After a power cut the clock stands, or a factory program waters every zone"
            " every day.",
            remedy="Replace the battery, then check clock and programs.",
        )


def _rain_sensor(found: FoundSetting) -> Iterator[ProgramRemark]:
    effect = "The programs run in the rain and the day after it, when the soil needs nothing."
    if found.has_rain_sensor is False:
        yield ProgramRemark(
            code="no-rain-sensor", sentence="The controller has no rain sensor.", effect=effect,
            remedy="Fit a rain sensor; until then somebody turns the controller off after rain.",
        )  # fmt: skip
    elif found.rain_sensor_works is False:
        yield ProgramRemark(
            code="rain-sensor-broken", sentence="The rain sensor does not work.", effect=effect,
            remedy="Replace the rain sensor, and see that it is not switched out of the circuit.",
        )  # fmt: skip


def _program_count(found: FoundSetting) -> Iterator[ProgramRemark]:
    if found.program_count is not None and len(found.programs) > found.program_count:
        yield ProgramRemark(
            code="more-programs-than-controller",
            sentence=f"{len(found.programs)} programs were noted; the controller holds"
            f" {found.program_count}.",
            effect="What runs is not what was noted, so the weekly water is not known.",
            remedy="Read the programs off the controller again, or correct what it can hold.",
        )


def _percent(found: FoundSetting) -> Iterator[ProgramRemark]:
    low, high = PERCENT_NEAR_100
    longest = max((m for each in found.programs for _, m in each.zone_minutes), default=0.0)
    if longest > 0 and not low <= found.seasonal_percent <= high:
        runs = longest * found.seasonal_percent / 100.0
        yield ProgramRemark(
            code="percent-far-from-100",
            sentence=f"The seasonal percentage stands at {found.seasonal_percent:g} %.",
            effect=f"A run of {longest:g} min lasts {runs:g} min: the minutes in the programs are"
            " not what the zones get, and steps of the percentage are coarse.",
            remedy="Set the percentage to 100 and the minutes to what the zones need.",
        )


def _days(found: FoundSetting) -> Iterator[ProgramRemark]:
    for program in found.programs:
        if program.interval_days is None or program.interval_days == 1:
            continue
        yield ProgramRemark(
            code="no-named-weekday",
            sentence=f"Program {program.name} names no weekday: it runs every"
            f" {program.interval_days} days.",
            effect="Its days wander through the week, or fall on one that nobody chose: onto"
            " mowing days, and onto days when watering is not allowed.",
            remedy="Set weekdays, or see that no rule of days holds here.",
            programs=(program.name,),
            zones=_zone_ids((program,)),
        )


def _starts(found: FoundSetting) -> Iterator[ProgramRemark]:
    for program in found.programs:
        most = found.starts_per_program
        if most is None or len(program.start_times) <= most:
            continue
        yield ProgramRemark(
            code="more-starts-than-controller",
            sentence=f"Program {program.name} was noted with {len(program.start_times)} starts;"
            f" the controller holds {most}.",
            effect="What runs is not what was noted, so the weekly water is not known.",
            remedy="Read the starts off the controller again, or correct what it can hold.",
            programs=(program.name,),
            zones=_zone_ids((program,)),
        )


def _overlapping(found: FoundSetting) -> Iterator[ProgramRemark]:
    for overlap in overlaps(found.programs, found.seasonal_percent):
        yield ProgramRemark(
            code="runs-overlap",
            sentence=_overlap_sentence(overlap),
            effect="The controller lets the second wait and run later than set, drops it, or runs"
            " two zones at once at too low a pressure.",
            remedy="Move the second start behind the end of the first, or delete the start that"
            " nobody needs.",
            programs=tuple(dict.fromkeys((overlap.first.name, overlap.second.name))),
            zones=_zone_ids((overlap.first, overlap.second)),
        )


def _overlap_sentence(overlap: Overlap) -> str:
    return (
        f"Program {overlap.first.name} runs {overlap.run_min:g} min from"
        f" {overlap.first_start:%H:%M}, and program {overlap.second.name} starts at"
        f" {overlap.second_start:%H:%M}, {overlap.gap_min} min later."
    )


def _heat(found: FoundSetting) -> Iterator[ProgramRemark]:
    first, end = HEAT_OF_DAY
    for program in found.programs:
        starts = [start for start in sorted(program.start_times) if first <= start < end]
        if not starts or not program.total_min * found.seasonal_percent:
            continue
        named = " and ".join(f"{start:%H:%M}" for start in starts)
        yield ProgramRemark(
            code="start-in-the-heat",
            sentence=f"Program {program.name} starts at {named}, in the heat of the day.",
            effect="Sun and wind take a part of what sprinklers throw, and many rules forbid"
            " watering at that time. Drip loses little.",
            remedy="Start sprinklers before dawn, unless these starts are for new plants or for"
            " drip.",
            programs=(program.name,),
            zones=_zone_ids((program,)),
        )


def _again(found: FoundSetting) -> Iterator[ProgramRemark]:
    """Name each zone that more than one start runs, unless they are cycles with soaks between."""
    if found.seasonal_percent == 0:
        return
    for zone_id in _zone_ids(found.programs):
        running = [each for each in found.programs if each.minutes_of(zone_id) > 0]
        starts = sum(len(program.start_times) for program in running)
        is_one_program = len(running) == 1
        if starts < 2 or (
            is_one_program and are_cycles(running[0], zone_id, found.seasonal_percent)
        ):
            continue
        names = tuple(program.name for program in running)
        yield ProgramRemark(
            code="leftover-start",
            sentence=f"Zone {found.zone_name(zone_id)} is run by {starts} starts"
            f" ({_in_words(names)}): {watering_days_per_week(running):.3g} waterings in a mean"
            f" week{_starts_each(running)}.",
            effect="They are no cycles with a soak between: each start adds its full minutes to"
            " the zone.",
            remedy="Keep the starts that are meant, and delete the others on the controller.",
            programs=names,
            zones=(zone_id,),
        )


def _zone_ids(programs: tuple[FoundProgram, ...]) -> tuple[Hashable, ...]:
    return tuple(dict.fromkeys(zone for each in programs for zone, _ in each.zone_minutes))


def _starts_each(programs: list[FoundProgram]) -> str:
    most = _most_a_day(programs)
    return f", of up to {most} starts each" if most > 1 else ""


def _most_a_day(programs: list[FoundProgram]) -> int:
    """Count the starts of the fullest weekday; a program by interval may fall on any."""
    return max(
        sum(len(each.start_times) for each in programs if day in (each.weekdays or {day}))
        for day in range(DAYS_PER_WEEK)
    )


def _in_words(names: tuple[str, ...]) -> str:
    word = "program" if len(names) == 1 else "programs"
    return f"{word} {' and '.join(names)}"
