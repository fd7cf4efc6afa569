"""One valid row of each kind, to be broken at the database."""

from __future__ import annotations

import pytest

from properties.models import Job
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
    stored = [company, technician, zone.property.customer, zone.property, zone.controller, zone]
    budget = rule_rows.make_budget(rule.district)
    return {type(row).__name__: row for row in [*stored, heads, job, rule, budget]}
