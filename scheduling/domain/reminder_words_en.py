"""The English words of reminders.

A text may name {whose}, {what}, {due}, {due_in_full} and {since}.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from scheduling.domain.reminder_rules import Audience, ReminderKind
from scheduling.domain.weather_words import BLOW_OUT_CAUTION

_CALL: Final = "If the day does not suit you, please call us as early as you can."
_LOCAL_CODE: Final = (
    "How often it is tested, and by whom, your water supplier and the local code say: they bind "
    "over this reminder."
)
_RULES: Final = "Local watering rules, on days and hours, bind over any number of ours."


@dataclass(frozen=True)
class MailWords:
    """A mail; `calendar` is the entry for the due date, if the date is one to keep."""

    subject: str
    summary: str
    heading: str
    paragraphs: tuple[str, ...]
    calendar: str = ""


@dataclass(frozen=True)
class DigestWords:
    """The office's mail of a day; its texts may name {count}, {open} and {left}."""

    subject: str
    one: str
    many: str
    left: str
    list_heading: str
    list_words: str
    headings: dict[ReminderKind, str]


MUST_BE_HOME_EN: Final = "Somebody should be at home: we cannot get in otherwise."
VISITS_EN: Final = ("Visit", "Where", "Address")

LINES_EN: Final[dict[ReminderKind, str]] = {
    ReminderKind.FROST: "{whose}: frost by the forecast on {due_in_full}.",
    ReminderKind.APPOINTMENT: "{whose}: visit on {due_in_full} ({what}).",
    ReminderKind.VISITS_TOMORROW: "{whose}: {what} on {due_in_full}.",
    ReminderKind.LICENCE: "{whose}: the licence {what} is valid until {due_in_full}, and no later "
    "one is on file.",
    ReminderKind.BACKFLOW_TEST: "{whose}: the backflow assembly was last tested on {since}; the "
    "date for the next test is {due_in_full}.",
    ReminderKind.SEASON_START: "{whose}: the season begins on {due_in_full}, and no visit to start "
    "it is planned.",
    ReminderKind.WINTER_SHUT_DOWN: "{whose}: winter shut-down is on {due_in_full}, and no visit "
    "for it is planned.",
    ReminderKind.AGREEMENT: "{whose}: nobody has agreed yet to what was proposed on {since}: "
    "{what}.",
    ReminderKind.FOUND_PROGRAM: "{whose}: {what} still runs as it was found, by what we know; new "
    "settings were made on {since}.",
    ReminderKind.AUDIT_RETEST: "{whose}: mended on {since} and not measured since: {what}.",
    ReminderKind.AUDIT_UNIFORMITY: "{whose}: measured on {since} as watering poorly: {what}. No "
    "visit is planned.",
    ReminderKind.AUDIT_AGE: "{whose}: the last audit was on {since}; the date for the next is "
    "{due_in_full}.",
    ReminderKind.AUDIT_SEASON: "{whose}: the season begins on {due_in_full}; {what}.",
}

_C, _T = Audience.CLIENT, Audience.TECHNICIAN
MAILS_EN: Final[dict[tuple[ReminderKind, Audience], MailWords]] = {
    (ReminderKind.FROST, _C): MailWords(
        subject="Frost ahead: {whose}",
        summary="",  # the weather tells it
        heading="What to do",
        paragraphs=(
            "Set the controller to off or rain; its programs stay in it.",
            "Spray that freezes makes walks and drives slippery, and harms plants.",
        ),
        calendar="Frost: sprinklers off",
    ),
    (ReminderKind.APPOINTMENT, _C): MailWords(
        subject="We come on {due}: {whose}",
        summary="Our visit to {whose} is planned for {due_in_full} ({what}).",
        heading="Before we come",
        paragraphs=(
            "Please leave the controller and the valve boxes within reach, and keep animals in.",
            _CALL,
        ),
        calendar="Sprinkler visit ({what})",
    ),
    (ReminderKind.VISITS_TOMORROW, _T): MailWords(
        subject="Your visits on {due}",
        summary="You have {what} planned for {due_in_full}.",
        heading="Where you go",
        paragraphs=(
            "As planned when this was written. How to get in stands with the visit, never in a "
            "mail.",
        ),
        calendar="{what}",
    ),
    (ReminderKind.LICENCE, _T): MailWords(
        subject="Your licence is valid until {due}",
        summary="Your licence {what} is valid until {due_in_full}.",
        heading="What to do",
        paragraphs=(
            "Please have it renewed in time, and give the office the new number and dates.",
            "Without it you cannot be booked for work that the local code licenses.",
        ),
        calendar="Licence {what} ends",
    ),
    (ReminderKind.BACKFLOW_TEST, _C): MailWords(
        subject="Backflow test due: {whose}",
        summary="The backflow assembly at {whose} was last tested on {since}; the date for the "
        "next test is {due_in_full}.",
        heading="What to do",
        paragraphs=(
            "It keeps water of the garden out of the drinking water, so it should be known to "
            "work. Have it tested by a tester whom the local code licenses, or ask us to arrange "
            "it.",
            "If it has been tested, please tell us the date.",
            _LOCAL_CODE,
        ),
        calendar="Backflow test due",
    ),
    (ReminderKind.SEASON_START, _C): MailWords(
        subject="The watering season begins: {whose}",
        summary="The watering season begins around {due}, and no visit to start the sprinklers at "
        "{whose} is planned yet.",
        heading="What to do",
        paragraphs=(
            "Call or write to us for a day: we open the water, look at each zone and set the "
            "controller.",
            "If you open the water yourself, open it slowly and with one zone on, to let the air "
            "out, and leave the backflow assembly to whom the local code licenses.",
        ),
        calendar="Watering season begins",
    ),
    (ReminderKind.WINTER_SHUT_DOWN, _C): MailWords(
        subject="Before the frost: {whose}",
        summary="The sprinklers at {whose} should be shut down for the winter around {due}, and "
        "no visit for it is planned yet.",
        heading="What to do",
        paragraphs=(
            "Call or write to us for a day: we shut the supply, empty the pipes and protect what "
            "freezes.",
            f"If you do it yourself: {BLOW_OUT_CAUTION[0].lower()}{BLOW_OUT_CAUTION[1:]}",
        ),
        calendar="Shut the sprinklers down for winter",
    ),
    (ReminderKind.AGREEMENT, _C): MailWords(
        subject="A repair waits for your word: {whose}",
        summary="On {since} we proposed a repair at {whose}: {what}.",
        heading="What to do",
        paragraphs=(
            "Please tell us whether you want it done; we do nothing before you agree. If you have "
            "questions, call or write to us.",
        ),
    ),
    (ReminderKind.FOUND_PROGRAM, _C): MailWords(
        subject="Are the new settings in? {whose}",
        summary="On {since} we made new settings for {what} at {whose}. By what we know it still "
        "runs as we found it.",
        heading="What to do",
        paragraphs=(
            "If they are in, tell us since when, so that our numbers go on from there. If you "
            "would rather have us set them, or let it be, say so and we stop asking.",
            _RULES,
        ),
    ),
    (ReminderKind.AUDIT_AGE, _C): MailWords(
        subject="Time to measure again: {whose}",
        summary="The sprinklers at {whose} were last measured on {since}.",
        heading="What to do",
        paragraphs=(
            "Nozzles wear and heads sink, so that minutes that were right then may not be now. "
            "Call or write to us for a day on which we measure anew.",
        ),
    ),
    (ReminderKind.AUDIT_SEASON, _C): MailWords(
        subject="Measured before the season: {whose}",
        summary="The watering season begins around {due}: a good time to measure the sprinklers "
        "at {whose}.",
        heading="What to do",
        paragraphs=("Call or write to us for a day on which we measure each zone.",),
    ),
}

DIGEST_EN: Final = DigestWords(
    subject="Reminders: {count} today, {open} open",
    one="There is one thing to see to.",
    many="There are {count} things to see to.",
    left="{left} more stand in the list.",
    list_heading="The list",
    list_words="What is done goes off the list by itself. What is not to be told again can be "
    "snoozed or stopped there.",
    headings={
        ReminderKind.LICENCE: "Licences",
        ReminderKind.BACKFLOW_TEST: "Backflow tests",
        ReminderKind.SEASON_START: "Season start",
        ReminderKind.WINTER_SHUT_DOWN: "Winter shut-down",
        ReminderKind.AGREEMENT: "Waiting for agreement",
        ReminderKind.FOUND_PROGRAM: "Found programs not yet changed",
        ReminderKind.AUDIT_RETEST: "Retests",
        ReminderKind.AUDIT_UNIFORMITY: "Poor uniformity",
        ReminderKind.AUDIT_AGE: "Audits due by age",
        ReminderKind.AUDIT_SEASON: "Audits before the season",
    },
)
