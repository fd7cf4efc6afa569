"""One valid row of each kind, to be broken at the database."""

from __future__ import annotations

import pytest

from properties.models import AccessToken, Import, Job, SignInCount
from tests import cast
from tests.properties import rule_rows


@pytest.fixture
def rows(company, office, technician, zone):
    """Return one stored row by the name of its model."""
    heads = cast.make_heads(zone)
    job = Job.objects.create(
        kind="test", subject_id=zone.pk, created_at=cast.NOW, due_at=cast.NOW, asked_by=office
    )
    rule = rule_rows.make_rule(rule_rows.make_district())
    sheet = Import.objects.create(kind="zones", name="x.csv", size_bytes=1, **cast.ROW)
    line = sheet.lines.create(row=2, outcome="made")
    stored = [company, technician, zone.property.customer, zone.property, zone.controller, zone]
    budget = rule_rows.make_budget(rule.district)
    token = AccessToken.objects.create(
        staff=technician, label="phone", created_at=cast.NOW, expires_at=cast.NOW
    )
    count = SignInCount.objects.create(counted_by="account", window_ends_at=cast.NOW)
    more = [heads, job, rule, budget, sheet, line, token, count]
    return {type(row).__name__: row for row in [*stored, *more]}
