"""What a client reads before his controller: per program, only what differs. Checks: arithmetic."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.domain.monthly_facts import ClientWord, Source
from scheduling.domain.programs import DayPattern
from tests.scheduling.domain.monthly_cases import (
    BEDS,
    DAILY,
    FACTS,
    FRONT,
    JUNE_10,
    TUE_SAT,
    ZONES,
    fitted,
    program,
    state,
    tables,
    told,
)

FOUND = state(
    program("A", DAILY, ("06:00",), {"1": 20, "3": 20}),
    program("C", TUE_SAT, ("12:00",), {"2": 5}),
    percent=80,
)
FITTED = state(program("A", TUE_SAT, ("04:30", "05:30"), {"3": 14, "4": 8}))
HEADINGS = ("What", "It was", "Set it to")


def test_each_program_says_what_differs_in_days_starts_and_minutes():
    content = told(fitted(FOUND, FITTED))

    assert [section.heading for section in content.sections] == [
        "Garage", "Garage, program A", "Garage, program C", "What to watch",
    ]  # fmt: skip
    assert tables(content) == {
        "Garage": (("Seasonal percentage", "80 %", "100 %"),),
        "Garage, program A": (
            ("Days", "daily", "Tue, Sat"),
            ("Start times", "6:00\u00a0AM", "4:30\u00a0AM, 5:30\u00a0AM"),
            ("Zone 1 Lawn", "20 min", "0 min"),
            ("Zone 3 Lawn", "20 min", "14 min at each start"),
            ("Zone 4 Lawn", "0 min", "8 min at each start"),
        ),
        "Garage, program C": (("Days", "Tue, Sat", "off"),),
    }
    assert all(each.table.headings == HEADINGS for each in content.sections if each.table)
    # Percentage, five lines of A, one of C.
    assert "Please change the 7 settings listed below." in content.summary
    assert content.calendar


def test_the_minutes_of_a_week_are_told_before_and_after():
    (line,) = [
        words for words in told(fitted(FOUND, FITTED)).sections[0].paragraphs if "Tog" in words
    ]

    # Before: 80 % of 7 x 40 + 2 x 5; after: 2 days, 2 starts, 22 min.
    assert line == "Together its zones then run 88 minutes a week, instead of 232."


def test_what_does_not_differ_is_not_told():
    content = told(fitted(FITTED, replace(FITTED, percent=70)))

    assert tables(content) == {"Garage": (("Seasonal percentage", "100 %", "70 %"),)}
    assert "Please change the one setting listed below." in content.summary


def test_a_controller_that_is_set_right_has_nothing_to_change():
    content = told(fitted(FITTED, FITTED))

    assert content.subject == "Watering stays as it is in July: Holm garden"
    assert content.summary.endswith("Nothing has to be changed on the controller.")
    assert content.sections[0].paragraphs == ("Nothing to change: it is set right for July.",)
    assert content.calendar == ()
    assert "first run" not in content.sections[-1].paragraphs[0]


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (Source.FOUND, "We found it so on June 10."),
        (Source.SET_BY_US, "We set it so on June 10."),
        (Source.OUR_NOTICE, "It should be set as our notice for June said;"),
    ],
)
def test_it_says_from_where_we_know_what_it_was(source, words):
    content = told(fitted(FOUND, FITTED, source=source))

    assert content.sections[0].paragraphs[0].startswith(words)


def test_where_nobody_knows_what_runs_all_of_it_is_told():
    content = told(fitted(None, FITTED))

    assert content.subject == "Your settings for July: Holm garden"
    assert content.sections[0].paragraphs[0].startswith("We have no note of what this controller")
    assert content.sections[1].table.headings == ("What", "Set it to")
    assert tables(content) == {
        "Garage": (("Seasonal percentage", "100 %"),),
        "Garage, program A": (
            ("Days", "Tue, Sat"),
            ("Start times", "4:30\u00a0AM, 5:30\u00a0AM"),
            ("Zone 3 Lawn", "14 min at each start"),
            ("Zone 4 Lawn", "8 min at each start"),
        ),
    }
    assert content.calendar


def test_an_interval_says_on_which_day_it_begins():
    every_third = DayPattern(every_days=3, first_day=0)
    content = told(
        fitted(FITTED, state(program("A", every_third, ("04:30", "05:30"), {"3": 14, "4": 8})))
    )

    # 1 July 2026 is day 912 from Monday 1 January 2024, which three divide.
    assert tables(content)["Garage, program A"] == (
        ("Days", "Tue, Sat", "every 3 days, first on July 1"),
    )


def test_times_and_dates_are_written_as_the_reader_does():
    content = told(fitted(FOUND, FITTED), system="metric")

    assert tables(content)["Garage, program A"][1] == ("Start times", "06:00", "04:30, 05:30")
    assert "on 10 June" in content.sections[0].paragraphs[0]


def test_many_zones_that_are_set_alike_are_one_row():
    zones = {str(number): 20 for number in range(1, 8)}
    now = state(program(minutes=zones))
    then = state(program(minutes={**dict.fromkeys(zones, 26), "7": 9}))

    rows = tables(told(fitted(now, then)))["Garage, program A"]
    estimated = tables(told(fitted(now, then, estimated=frozenset("12"))))["Garage, program A"]

    assert rows == (("Zones 1 to 6, each", "20 min", "26 min"), ("Zone 7 Lawn", "20 min", "9 min"))
    assert [row[0] for row in estimated] == [
        "Zone 1 Lawn (estimated)", "Zone 2 Lawn (estimated)", "Zones 3 to 6, each", "Zone 7 Lawn",
    ]  # fmt: skip


def test_zones_that_were_not_measured_are_marked():
    content = told(fitted(FOUND, FITTED, estimated=frozenset({"4"})))

    assert ("Zone 4 Lawn (estimated)", "0 min", "8 min at each start") in tables(content)[
        "Garage, program A"
    ]
    assert "Estimated:" in content.sections[0].paragraphs[-1]


def test_where_only_a_measured_zone_changes_nothing_is_said_of_estimates():
    content = told(fitted(FITTED, replace(FITTED, percent=70), estimated=frozenset({"4"})))

    assert "Estimated" not in "".join(content.sections[0].paragraphs)


def test_one_controller_has_programs_and_the_other_plans():
    other = replace(FACTS.controllers[0], name="Shed")

    content = told(fitted(FOUND, FITTED), other)

    assert [section.heading for section in content.sections] == [
        "Garage", "Garage, program A", "Garage, program C", "Shed", "What to watch",
    ]  # fmt: skip
    assert tables(content)["Shed"][0] == ("1 Front lawn", "every 2 days, 14 min", "daily, 14 min")
    assert "Please change the 8 settings listed below." in content.summary


def test_zones_outside_of_the_programs_of_a_controller_follow_them():
    content = told(fitted(FOUND, FITTED, zones=(FRONT, BEDS)))

    assert content.sections[-2].heading == "Garage, other zones"
    assert content.sections[-2].table.rows[0][0] == "1 Front lawn"


def test_zones_without_a_controller_are_watered_by_hand():
    content = told(replace(FACTS.controllers[0], name=""))

    assert content.sections[0].heading == "By hand"


def test_who_set_the_programs_himself_is_asked_with_his_numbers_beside_ours():
    himself = ClientWord(JUNE_10)
    content = told(fitted(FOUND, FITTED, source=Source.CLIENT, himself=himself))

    assert "You set Garage yourself: please look whether it still suits." in content.summary
    assert "Please change" not in content.summary
    assert "yourself on June 10. Is it still set so" in content.sections[0].paragraphs[0]
    assert content.sections[1].table.headings == ("What", "As you set it", "By our numbers")
    assert content.calendar == ()


def test_the_second_time_he_is_left_alone_and_still_sees_our_numbers():
    himself = ClientWord(JUNE_10, was_asked=True)
    content = told(fitted(FOUND, FITTED, source=Source.CLIENT, himself=himself))

    assert "?" not in content.summary + "".join(content.sections[0].paragraphs)
    assert "we leave it so" in content.sections[0].paragraphs[0]
    assert tables(content)["Garage, program C"] == (("Days", "Tue, Sat", "off"),)


def test_who_set_it_just_as_we_would_is_not_asked():
    himself = ClientWord(JUNE_10)
    content = told(fitted(FITTED, FITTED, source=Source.CLIENT, himself=himself))

    assert content.subject == "Watering stays as it is in July: Holm garden"
    assert content.sections[0].paragraphs == (
        "You set this controller yourself on June 10. It suits July: nothing to change.",
    )


def test_where_all_programs_go_off_the_heading_says_so():
    content = told(fitted(FOUND, state(program("A", None), percent=80)))

    assert content.subject == "Switch off for July: Holm garden"
    assert tables(content) == {
        "Garage, program A": (("Days", "daily", "off"),),
        "Garage, program C": (("Days", "Tue, Sat", "off"),),
    }
    assert len(content.sections[0].paragraphs) == 1
    (watch,) = content.sections[-1].paragraphs
    assert watch.startswith("From then on nothing should run.")


def test_a_zone_that_is_no_more_is_told_by_its_id():
    content = told(fitted(state(program(minutes={"3": 14, "gone": 5})), state(program())))

    assert "gone" not in ZONES
    assert tables(content)["Garage, program A"] == (("Zone gone", "5 min", "0 min"),)


def test_the_first_run_is_to_be_looked_at():
    assert "first run" in told(fitted(FOUND, FITTED)).sections[-1].paragraphs[0]
