"""Bodies of each kind, by the name of the collection they are posted to."""

from __future__ import annotations

from typing import Any

import pytest

from tests.properties.api import bodies


@pytest.fixture
def body_of(garden, controller, zone) -> dict[str, dict[str, Any]]:
    return {
        "customers": bodies.client(),
        "properties": bodies.property_of(garden.customer),
        "controllers": bodies.controller_at(garden),
        "zones": bodies.zone_on(controller),
        "head-groups": bodies.heads_in(zone),
    }
