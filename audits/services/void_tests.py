"""Catch tests that count no more: superseded by a better one, or voided with a reason."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from audits.models import CatchTest
from audits.services.ruling_tests import telling_of_ruling_test
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Role, StaffMember, Zone
from properties.services.rows import change_row


@transaction.atomic
def void_test(test: CatchTest, reason: str, *, actor: StaffMember, now: datetime) -> CatchTest:
    """Take a test out of force; what it superseded comes back into force."""
    if actor.role == Role.TECHNICIAN and test.visit.technician_id != actor.pk:
        raise RefusedError(
            "This test belongs to another technician's visit.",
            code="not-your-visit", field="visit", remedy="Ask him or the office to void it.",
        )  # fmt: skip
    if test.voided_at is not None:
        raise RefusedError(
            f"This test was voided already: {test.void_reason}",
            code="already-voided", remedy="Record a new test if the zone needs one.",
        )  # fmt: skip
    if not reason.strip():
        raise InvalidInputError(
            "The reason is missing.",
            field="reason", code="missing", remedy="Say why the test counts no more.",
        )  # fmt: skip
    changes = {"voided_at": now, "void_reason": reason.strip()}
    with telling_of_ruling_test(test.visit, test.zone_id, actor=actor, now=now):
        return change_row(test, changes, actor=actor, now=now, act="voided")


def check_may_supersede(superseded: CatchTest, *, zone: Zone, taken_at: datetime) -> None:
    """Refuse to replace a test of another zone, a later one, or one that counts no more."""
    if superseded.zone_id != zone.pk:
        raise InvalidInputError(
            "The test to replace is of another zone.",
            field="supersedes", code="another-zone", remedy="Choose a test of the same zone.",
        )  # fmt: skip
    if taken_at < superseded.taken_at:
        raise InvalidInputError(
            "This test was taken before the one that it is to replace.",
            field="supersedes", code="supersedes-later",
            remedy="Check both moments; void the later test if it is the wrong one.",
        )  # fmt: skip
    if superseded.voided_at is not None:
        raise RefusedError(
            "The test to replace was voided.",
            code="superseded-voided", field="supersedes",
            remedy="Record this test without replacing another.",
        )  # fmt: skip
    if superseded.successors.filter(voided_at__isnull=True).exists():
        raise RefusedError(
            "Another test replaces that one already.",
            code="already-superseded", field="supersedes",
            remedy="Replace the test that took its place, or void that one first.",
        )  # fmt: skip
