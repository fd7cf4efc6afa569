"""The office's pages of spreadsheets: send, read the report, write, cancel."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from properties.models import Customer, Import, Job
from tests import cast
from tests.background import work
from tests.properties import import_files as files
from tests.properties.admin.forms import add_address, address_of, errors_of, list_address

pytestmark = pytest.mark.django_db


def send(pages: Client, content: str = files.CUSTOMERS, **said: str):
    file = SimpleUploadedFile("rows.csv", content.encode())
    return pages.post(add_address(Import), {"kind": "customers", "file": file, **said})


def act(pages: Client, action: str):
    chosen = [str(sheet.pk) for sheet in Import.objects.all()]
    data = {"action": action, "_selected_action": chosen}
    return pages.post(list_address(Import), data, follow=True).content.decode()


def test_a_file_is_sent_looked_at_and_written(office_pages: Client):
    assert send(office_pages).status_code == 302
    work()
    sheet = Import.objects.get()
    assert "2 made, 0 changed, 0 unchanged, 0 refused; 0 faults" in (
        office_pages.get(address_of(sheet)).content.decode()
    )

    assert "1 will be written" in act(office_pages, "write_all")
    work()

    assert Customer.objects.count() == 2


def test_the_empty_form_names_no_heading(office_pages: Client):
    page = office_pages.get("/admin/properties/import/add/").text

    assert ">\n{}</textarea>" in page


def test_what_is_said_of_a_file_is_kept(office_pages: Client):
    content = files.CUSTOMERS.replace("Reference", "Kd-Nr")

    send(office_pages, content, headings='{"Kd-Nr": "Reference"}', takes_alike="on")

    assert Import.objects.get().said == {"headings": {"Kd-Nr": "Reference"}, "takes_alike": True}


def test_a_refused_file_says_why_at_its_field(office_pages: Client):
    page = send(office_pages, "Reference,Name,Hat\n")

    assert "Nobody knows the headings: Hat." in errors_of(page)["headings"][0]
    assert not Import.objects.exists()


def test_faults_stand_in_a_table_and_are_escaped(office_pages: Client):
    send(office_pages, files.CUSTOMERS.replace("Telephone", "Relation").replace("0101", "<b>"))
    work()

    page = office_pages.get(address_of(Import.objects.get())).content.decode()

    assert "<td>D2</td><td>Relation</td><td>Relation cannot be that.</td>" in page
    assert "<b>" not in page


def test_rows_with_faults_are_refused_in_words_and_the_good_ones_written(office_pages: Client):
    send(office_pages, files.CUSTOMERS.replace("tomas@brandt.example", "tomas"))
    work()

    assert "1 rows have faults; nothing was written." in act(office_pages, "write_all")
    act(office_pages, "write_good_rows")
    work()

    assert Customer.objects.count() == 1


def test_an_import_is_cancelled(office_pages: Client):
    send(office_pages)

    assert "1 cancelled" in act(office_pages, "cancel")
    assert Import.objects.get().state == "cancelled"


def test_an_unreadable_file_and_a_job_that_gave_up_are_told(office_pages: Client):
    send(office_pages, files.CUSTOMERS + '"open')
    work()
    waiting = Import.objects.create(kind="zones", name="z", size_bytes=1, **cast.ROW)
    Job.objects.create(
        kind="import-look", subject_id=waiting.pk, state="parked", created_at=cast.NOW,
        due_at=cast.NOW, problem={"code": "broke", "detail": "OSError"},
    )  # fmt: skip

    page = office_pages.get(list_address(Import)).content.decode()

    assert "refused: Row 4 has a quotation mark" in page
    assert "failed: OSError Have its job run again" in page
