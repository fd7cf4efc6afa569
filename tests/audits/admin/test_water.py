"""The pages of emitters that were caught: facts, to look at."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from tests.audits import field_rows


@pytest.fixture
def check(visit, zone):
    return field_rows.make_emitter_check(visit, zone)


def test_the_list_and_the_page_show_flow_evenness_and_each_emitter(office_pages: Client, check):
    listed = office_pages.get(reverse("admin:audits_emittercheck_changelist"))
    page = office_pages.get(reverse("admin:audits_emittercheck_change", args=[check.pk]))

    assert "0.5714" in listed.content.decode()
    content = page.content.decode()
    assert (page.status_code, "Caught [mL]" in content) == (200, True)
    assert content.count("166.7") == 15


def test_nothing_can_be_written_there(office_pages: Client, check):
    page = reverse("admin:audits_emittercheck_change", args=[check.pk])

    assert office_pages.post(page, {"emitters": 3}).status_code == 403
    assert office_pages.get(reverse("admin:audits_emittercheck_add")).status_code == 403
