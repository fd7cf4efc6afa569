"""What somebody is to be reminded of: the rules, and what is due."""

from __future__ import annotations

from typing import ClassVar, Final

from django.conf import settings
from django.db import models
from django.db.models import Q

from audits.models import RepairTicket, Visit
from properties.models import Controller, Licence, Property, Row
from properties.models.checks import between, one_of
from scheduling.domain.reminder_rules import Audience, ReminderKind, Rule

REMINDER_KINDS: Final = [
    (kind.value, kind.value.replace("_", " ").capitalize()) for kind in ReminderKind
]
AUDIENCES: Final = [(audience.value, audience.value.capitalize()) for audience in Audience]


class ReminderRule(Row):
    """One kind's rule; see `scheduling.domain.reminder_rules.Rule`."""

    kind = models.CharField(max_length=20, choices=REMINDER_KINDS, unique=True, editable=False)
    is_on = models.BooleanField(default=True)
    to_office = models.BooleanField(default=False)
    to_technician = models.BooleanField(default=False)
    to_client = models.BooleanField(default=False)
    after_days = models.PositiveSmallIntegerField(
        default=0, help_text="From the cause to the due date."
    )
    days_ahead = models.PositiveSmallIntegerField(
        default=0, help_text="So long before the due date it is told first."
    )
    repeat_days = models.PositiveSmallIntegerField(
        default=0, help_text="From one time to the next; 0: told once."
    )
    most_times = models.PositiveSmallIntegerField(default=1)
    month = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Of a season's date; other kinds have none."
    )
    day = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["kind"]
        constraints = [
            one_of("kind", REMINDER_KINDS),
            between("after_days", 0, 3660, words="the days after the cause"),
            between("days_ahead", 0, 366, words="the days ahead"),
            between("repeat_days", 0, 366, words="the days between two times"),
            between("most_times", 1, 50, words="the number of times"),
            between("month", 1, 12, words="the month"),
            between("day", 1, 31, words="the day of the month"),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()

    def audiences(self) -> frozenset[Audience]:
        told = {
            Audience.OFFICE: self.to_office,
            Audience.TECHNICIAN: self.to_technician,
            Audience.CLIENT: self.to_client,
        }
        return frozenset(audience for audience, is_told in told.items() if is_told)

    def as_rule(self) -> Rule:
        """Return the rule as the domain has it; one that cannot be is refused."""
        return Rule(
            kind=ReminderKind(self.kind),
            audiences=self.audiences(),
            is_on=self.is_on,
            after_days=self.after_days,
            days_ahead=self.days_ahead,
            repeat_days=self.repeat_days,
            most_times=self.most_times,
            month=self.month,
            day=self.day,
        )


class ReminderState(models.TextChoices):
    OPEN = "open", "Open"
    SNOOZED = "snoozed", "Snoozed"
    STOPPED = "stopped", "Stopped"
    DONE = "done", "Done"


LIVE_REMINDER_STATES: Final = (ReminderState.OPEN, ReminderState.SNOOZED)


class Reminder(Row):
    """One cause for one audience, once whoever finds it; done when the cause is gone.

    `key` names cause and audience. `told` counts how often the audience heard of it.
    """

    unlogged: ClassVar[frozenset[str]] = frozenset({"what"})

    kind = models.CharField(max_length=20, choices=REMINDER_KINDS)
    audience = models.CharField(max_length=20, choices=AUDIENCES)
    key = models.CharField(max_length=200, unique=True)
    property = models.ForeignKey(
        Property, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True,
        related_name="reminders",
    )  # fmt: skip
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ticket = models.ForeignKey(
        RepairTicket, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    licence = models.ForeignKey(
        Licence, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    controller = models.ForeignKey(
        Controller, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    due_date = models.DateField()
    since = models.DateField(null=True, blank=True, help_text="The day of the cause.")
    what = models.CharField(max_length=200, blank=True)
    state = models.CharField(
        max_length=20, choices=ReminderState.choices, default=ReminderState.OPEN
    )
    snoozed_until = models.DateField(null=True, blank=True)
    told = models.PositiveSmallIntegerField(default=0)
    told_on = models.DateField(null=True, blank=True, help_text="By the company's clock.")

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["audience", "state", "told_on"], name="reminder_by_state"),
            models.Index(fields=["property", "kind", "state"], name="reminder_of_property"),
        ]
        constraints = [
            one_of("kind", REMINDER_KINDS),
            one_of("audience", AUDIENCES),
            one_of("state", ReminderState.choices),
            models.CheckConstraint(
                condition=Q(property__isnull=False, staff__isnull=True)
                | Q(property__isnull=True, staff__isnull=False),
                name="reminder_of_property_or_colleague",
            ),
            models.CheckConstraint(
                condition=Q(state=ReminderState.SNOOZED, snoozed_until__isnull=False)
                | (~Q(state=ReminderState.SNOOZED) & Q(snoozed_until__isnull=True)),
                name="reminder_snoozed_has_date",
            ),
            models.CheckConstraint(
                condition=Q(told=0, told_on__isnull=True) | Q(told__gt=0, told_on__isnull=False),
                name="reminder_told_has_date",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} by {self.due_date}"

    def is_live(self) -> bool:
        """Whether the cause is still there, and nobody stopped it."""
        return self.state in LIVE_REMINDER_STATES


class ReminderDay(models.Model):
    """A local day of the company on which causes were looked for: once, whoever starts it."""

    date = models.DateField(primary_key=True)
    reached = models.UUIDField(null=True, help_text="The last property that was looked at.")
    ended_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"reminders of {self.date}"
