"""The office at its pages."""

from __future__ import annotations

import pytest
from django.test import Client

from properties.models import StaffMember
from tests.conftest import pages_of


@pytest.fixture
def office_pages(office: StaffMember) -> Client:
    return pages_of(office)
