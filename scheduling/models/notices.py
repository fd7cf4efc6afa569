"""What somebody is to be told: frozen when it is queued, sent once."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from properties.models import Customer, Property, Row
from properties.models.checks import one_of


class NoticeKind(models.TextChoices):
    MONTHLY = "monthly", "Monthly watering notice"
    CHANGE = "change", "Watering should change"
    FROST = "frost", "Frost ahead"
    HEAT = "heat", "Heat ahead"
    DROUGHT = "drought", "Drought stage"
    REMINDER = "reminder", "Reminder"
    VISIT = "visit", "Visit ahead"


class NoticeState(models.TextChoices):
    QUEUED = "queued", "Queued"
    SENDING = "sending", "Given to the mail server"
    SENT = "sent", "Sent"
    HELD = "held", "Held back"
    PARKED = "parked", "Given up"


class Notice(Row):
    """One message to one person.

    `key` says what it is about, so that it is queued once whoever asks; `issue` counts what was
    told anew of the same. No address stands here: it is looked up when the message is sent.
    """

    key = models.CharField(max_length=200, unique=True)
    issue = models.PositiveSmallIntegerField(default=1)
    kind = models.CharField(max_length=20, choices=NoticeKind.choices)
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="notices"
    )
    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="notices",
    )
    property = models.ForeignKey(
        Property, on_delete=models.PROTECT, null=True, blank=True, related_name="notices"
    )
    period = models.DateField(null=True, blank=True, help_text="First day of what it is about.")
    language = models.CharField(max_length=10, default="en")
    content = models.JSONField()
    content_digest = models.CharField(max_length=64, editable=False)
    state = models.CharField(
        max_length=20, choices=NoticeState.choices, default=NoticeState.QUEUED, editable=False
    )
    attempts = models.PositiveSmallIntegerField(default=0, editable=False)
    message_id = models.CharField(max_length=120, unique=True, editable=False)
    may_be_twice = models.BooleanField(
        default=False,
        editable=False,
        help_text="The sender died before it could say so, and it was sent again.",
    )
    reason = models.JSONField(default=dict, blank=True, editable=False)
    sent_at = models.DateTimeField(null=True, blank=True, editable=False)
    sheet_sha256 = models.CharField(max_length=64, blank=True, default="", editable=False)

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["state", "changed_at"], name="notice_by_state"),
            models.Index(fields=["customer", "kind", "period"], name="notice_of_customer"),
        ]
        constraints = [
            one_of("kind", NoticeKind.choices),
            one_of("state", NoticeState.choices),
            models.CheckConstraint(
                condition=Q(customer__isnull=False, staff__isnull=True)
                | Q(customer__isnull=True, staff__isnull=False),
                name="notice_to_one_person",
                violation_error_message="customer: a notice goes to a client or to a colleague.",
            ),
            models.CheckConstraint(
                condition=Q(state=NoticeState.SENT, sent_at__isnull=False)
                | (~Q(state=NoticeState.SENT) & Q(sent_at__isnull=True)),
                name="notice_sent_has_moment",
            ),
        ]

    def __str__(self) -> str:
        return self.key

    def is_open(self) -> bool:
        """Whether something is still to be done about it."""
        return self.state in (NoticeState.QUEUED, NoticeState.SENDING)


class MailDay(models.Model):
    """How many messages a local day has taken of its quota."""

    date = models.DateField(primary_key=True)
    taken = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(taken__gte=0), name="mail_day_taken"),
        ]

    def __str__(self) -> str:
        return f"{self.date}: {self.taken}"
