from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from audits.models import Visit
from properties.models import StaffMember
from tests.conftest import pages_of
from tests.properties.admin.forms import address_of
from tests.reports.admin.test_every_page import make_document

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.4 as it was rendered"


def pdf_address(pk: object) -> str:
    return reverse("admin:reports_document_pdf", args=[pk])


def test_the_office_opens_the_pdf_from_the_documents_page(office_pages: Client, visit: Visit):
    document = make_document(visit, 1, PDF)

    page = office_pages.get(address_of(document)).content.decode()
    answer = office_pages.get(pdf_address(document.pk))

    assert pdf_address(document.pk) in page
    assert (answer.content, answer["Content-Type"]) == (PDF, "application/pdf")
    assert "private" in answer["Cache-Control"]
    assert "no-store" in answer["Cache-Control"]


def test_an_unknown_pdf_is_not_found(office_pages: Client):
    assert office_pages.get(pdf_address(uuid.uuid4())).status_code == 404


def test_a_technician_and_a_stranger_get_no_pdf_here(technician: StaffMember, visit: Visit):
    document, insider = make_document(visit, 1, PDF), pages_of(technician)

    for client in (insider, Client()):
        answer = client.get(pdf_address(document.pk))
        assert (answer.status_code, PDF in answer.content) == (302, False)


def test_a_document_cannot_be_changed(office_pages: Client, visit: Visit):
    document = make_document(visit, 1, PDF)

    assert office_pages.post(address_of(document), {"title": "forged"}).status_code == 403
