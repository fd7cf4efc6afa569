"""The office at its pages."""

from __future__ import annotations

import pytest
from django.test import Client

from properties.models import StaffMember


@pytest.fixture
def office_pages(office: StaffMember) -> Client:
    client = Client()
    client.force_login(office)
    return client
