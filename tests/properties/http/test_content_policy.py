"""What pages may load, and what they are made of."""

from __future__ import annotations

import re

import pytest

from properties.http.content_policy import POLICY
from properties.models import Company, Customer, Property, StaffMember
from tests.conftest import pages_of
from tests.properties.admin.forms import add_address, list_address


def test_every_answer_has_a_policy_that_allows_no_script_of_the_page(client, office_api):
    for answer in (
        client.get("/healthz"),
        client.get("/admin/login/"),
        office_api.get("/api/v1/company"),
    ):
        assert answer["Content-Security-Policy"] == POLICY
    assert "script-src" not in POLICY
    assert "default-src 'self'" in POLICY
    assert POLICY.count("unsafe") == 1


@pytest.mark.parametrize("model", [Company, Customer, Property, StaffMember])
def test_no_page_of_ours_needs_a_script_of_its_own(office, model):
    client = pages_of(office)

    for address in ("/admin/", list_address(model), add_address(model)):
        page = client.get(address).content.decode()
        assert not re.findall(r"<script(?![^>]*\b(?:src=|type=\"application/json\"))", page)
        assert not re.findall(r"\son[a-z]+=\"", page)
        assert "javascript:" not in page


def test_the_page_of_the_api_loads_its_script_by_address(client, db):
    page = client.get("/api/v1/docs").content.decode()

    assert not re.findall(r"<script(?![^>]*\bsrc=)", page)
