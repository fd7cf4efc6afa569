"""Those who ask for a zone."""

from __future__ import annotations

import pytest


@pytest.fixture
def callers(office_api, technician_api, outsider_api, anonymous_api):
    """Office, the visit's technician, another technician, and a stranger."""
    return office_api, technician_api, outsider_api, anonymous_api
