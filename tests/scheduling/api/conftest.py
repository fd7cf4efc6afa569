"""A tested zone with weather, and those who ask for its plan."""

from __future__ import annotations

import pytest

from tests import cast


@pytest.fixture
def tested(visit, zone, station):
    return cast.make_catch_test(visit, zone)


@pytest.fixture
def callers(office_api, technician_api, outsider_api, anonymous_api):
    """Office, the visit's technician, another technician, and a stranger."""
    return office_api, technician_api, outsider_api, anonymous_api
