"""A garden whose client agreed to notices, and short waits."""

from __future__ import annotations

import pytest

from tests import cast


@pytest.fixture(autouse=True)
def fast(settings):
    settings.NOTICE_RETRY_S = 60
    settings.PUBLIC_URL = "https://water.example"
    settings.DEFAULT_FROM_EMAIL = "notices@meadowlark.example"


@pytest.fixture
def garden(company):
    return cast.make_property(cast.make_customer(wants_notices=True))
