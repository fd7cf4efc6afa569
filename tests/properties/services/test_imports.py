"""Bringing rows in from spreadsheets: looked at, written whole or not at all, once."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Controller, Customer, Event, Import, Job, Property, Zone
from properties.models.imports import ImportPart
from properties.services import import_files, imports
from properties.services.imports import (
    ask_to_write,
    cancel_forgotten_imports,
    cancel_import,
    look_at_import,
    plan_writing,
    store_look,
    write_import,
)
from properties.services.jobs import run_job
from properties.services.rows import change_row
from tests import cast
from tests.properties import import_files as files

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _company(company):
    cast.make_office()


def test_a_look_writes_nothing_and_tells_what_each_row_would_do():
    sheet = files.look(files.CUSTOMERS)

    assert not Customer.objects.exists()
    assert (sheet.state, sheet.rows, sheet.rows_done) == ("looked_at", 2, 2)
    assert (sheet.report["made"], sheet.report["faults"]) == (2, 0)
    assert list(sheet.lines.values_list("row", "outcome", "reference")) == [
        (2, "made", "K-1"), (3, "made", "K-2"),
    ]  # fmt: skip


def test_four_files_bring_a_company_in():
    files.bring_in_all()

    zone = Zone.objects.get(name="Back lawn")
    assert (zone.controller.name, zone.property.customer.name) == ("Garage", "Ingrid Holm")
    assert zone.entered == {"area_m2": {"value": 3400, "unit": "ft2"}}
    assert zone.area_m2 == pytest.approx(3400 * 0.3048**2)  # arithmetic
    assert zone.property.static_pressure_kpa == pytest.approx(58 * 6.894757293168)
    assert zone.property.time_zone == "America/Chicago"
    assert [model.objects.count() for model in files.BROUGHT_IN] == [2, 2, 2, 3]


def test_each_row_has_its_event_without_contact_values():
    files.bring_in(files.CUSTOMERS)

    customer = Customer.objects.get(reference="K-1")
    event = Event.objects.get(subject_id=customer.pk)
    assert (event.act, event.actor.role) == ("imported", "office")
    assert event.after["email"] == event.after["name"] == "(not kept)"


def test_the_same_file_again_changes_nothing():
    files.bring_in_all()
    before = files.stored()

    for kind, text in files.ALL_FILES.items():
        report = files.bring_in(text, kind).report
        assert (report["made"], report["changed"], report["refused"]) == (0, 0, 0)

    assert files.stored() == before


def test_a_changed_cell_changes_that_field_alone():
    files.bring_in_all()
    yard = Property.objects.get(reference="P-2")

    sheet = files.bring_in(files.PROPERTIES.replace("P-2,K-2,Brandt yard", "P-2,K-2,Yard"),
                           "properties")  # fmt: skip

    yard.refresh_from_db()
    assert (yard.name, yard.revision, yard.changed_at) == ("Yard", 2, cast.NOW)
    assert sheet.report["by_kind"] == {"properties": {"changed": 1}}
    assert list(sheet.lines.values_list("outcome", "changes")) == [
        ("unchanged", []), ("changed", ["name"]),
    ]  # fmt: skip
    event = Event.objects.exclude(act="imported").get(subject_id=yard.pk)
    assert (event.act, list(event.after)) == ("changed by import", ["name"])


def test_a_changed_quantity_keeps_what_is_entered_now():
    files.bring_in_all()

    files.bring_in(files.PROPERTIES.replace("Tallgrass,58", "Tallgrass,4 bar"), "properties")

    garden = Property.objects.get(reference="P-1")
    assert garden.static_pressure_kpa == 400.0
    assert garden.entered == {"static_pressure_kpa": {"value": 4, "unit": "bar"}}


def test_a_blank_cell_leaves_what_is_there_unless_the_office_says_otherwise():
    files.bring_in(files.CUSTOMERS)
    blank = files.CUSTOMERS.replace("555-010-0101", "")

    assert files.bring_in(blank).report["unchanged"] == 2
    assert files.bring_in(blank, clears_blank=True).report["changed"] == 1
    assert Customer.objects.get(reference="K-1").phone == ""


def test_a_file_with_faults_writes_nothing_unless_the_good_rows_are_asked_for():
    sheet = files.look(files.CUSTOMERS.replace("tomas@brandt.example", "tomas"))
    assert files.faults(sheet) == [("C3", "invalid")]

    with pytest.raises(RefusedError, match="1 rows have faults") as refusal:
        files.write(sheet)
    assert refusal.value.field == "only_good_rows"
    assert not Customer.objects.exists()

    assert files.write(sheet, only_good_rows=True).state == "written"
    assert [row.reference for row in Customer.objects.all()] == ["K-1"]


def test_what_went_wrong_since_the_look_writes_nothing_and_is_told():
    sheet = files.look(files.CUSTOMERS)
    cast.make_customer(reference="", email="TOMAS@brandt.example")

    files.write(sheet)

    assert (sheet.state, Customer.objects.count()) == ("looked_at", 1)
    assert sheet.report["refusal"]["code"] == "rows-refused"
    assert files.faults(sheet) == [("C3", "alike-stored")]


def test_the_jobs_run_twice_are_as_run_once():
    sheet = files.bring_in(files.CUSTOMERS)
    before = files.stored()

    assert look_at_import(sheet.pk, cast.NOW) is plan_writing(sheet.pk, cast.NOW) is None
    assert write_import(sheet.pk, cast.NOW, None)["made"] == 2
    assert store_look(sheet.pk, cast.NOW, None)["state"] == "written"
    assert files.stored() == before


def test_a_worker_killed_in_the_middle_of_the_writing_writes_nothing(monkeypatch):
    sheet = files.look(files.CUSTOMERS)
    _, job = ask_to_write(sheet, only_good_rows=False, actor=files.office(), now=cast.NOW)
    before = files.stored()

    def die(*args, **kwargs):
        assert Customer.objects.count() == 2
        raise KeyboardInterrupt

    monkeypatch.setattr(imports, "_end", die)
    with pytest.raises(KeyboardInterrupt):
        run_job(job.pk, now=cast.NOW)
    assert files.stored() == before

    monkeypatch.undo()
    run_job(job.pk, now=cast.NOW.replace(hour=23))
    assert Customer.objects.count() == 2
    sheet.refresh_from_db()
    assert sheet.state == "written"


def test_a_worker_killed_in_the_middle_of_a_look_is_followed_by_a_whole_one(monkeypatch):
    sheet, job = files.keep(files.CUSTOMERS)
    monkeypatch.setattr(imports, "make_plan", _die_after_a_line)
    with pytest.raises(KeyboardInterrupt):
        run_job(job.pk, now=cast.NOW)

    monkeypatch.undo()
    run_job(job.pk, now=cast.NOW.replace(hour=23))

    sheet.refresh_from_db()
    assert (sheet.state, sheet.lines.count()) == ("looked_at", 2)


def _die_after_a_line(sheet, *args, **kwargs):
    sheet.lines.create(row=2, outcome="refused")
    raise KeyboardInterrupt


def test_a_cancelled_import_is_not_written_and_keeps_no_bytes():
    sheet = files.look(files.CUSTOMERS)
    _, job = ask_to_write(sheet, only_good_rows=False, actor=files.office(), now=cast.NOW)

    cancelled = cancel_import(sheet, actor=files.office(), now=cast.NOW)
    again = cancel_import(sheet, actor=files.office(), now=cast.NOW)
    done = run_job(job.pk, now=cast.NOW)

    assert (cancelled.state, again.revision, done.result["state"]) == (
        "cancelled", cancelled.revision, "cancelled",
    )  # fmt: skip
    assert not Customer.objects.exists()
    assert not ImportPart.objects.exists()


def test_an_import_that_nobody_has_written_for_a_month_is_cancelled():
    sheet = files.look(files.CUSTOMERS)

    assert cancel_forgotten_imports(now=cast.NOW + dt.timedelta(days=30)) == 0
    assert cancel_forgotten_imports(now=cast.NOW + dt.timedelta(days=31)) == 1
    assert cancel_forgotten_imports(now=cast.NOW + dt.timedelta(days=32)) == 0

    sheet.refresh_from_db()
    assert sheet.state == "cancelled"
    assert not ImportPart.objects.exists()


def test_an_import_cancelled_between_look_and_writing_is_not_written():
    sheet = files.look(files.CUSTOMERS)
    ask_to_write(sheet, only_good_rows=False, actor=files.office(), now=cast.NOW)
    looked = plan_writing(sheet.pk, cast.NOW)
    cancel_import(sheet, actor=files.office(), now=cast.NOW)

    assert write_import(sheet.pk, cast.NOW, looked)["state"] == "cancelled"
    assert not Customer.objects.exists()


def test_an_import_cancelled_during_a_look_stops_it(monkeypatch):
    sheet, _ = files.keep(files.CUSTOMERS)
    held = Import.objects.get(pk=sheet.pk)
    monkeypatch.setattr(Import.objects, "get", lambda **_: held)
    Import.objects.filter(pk=sheet.pk).update(state="cancelled")

    assert look_at_import(sheet.pk, cast.NOW) is None


def test_an_import_that_ended_is_neither_written_nor_cancelled():
    sheet = files.bring_in(files.CUSTOMERS)

    for act in (files.write, lambda it: cancel_import(it, actor=files.office(), now=cast.NOW)):
        with pytest.raises(RefusedError, match="is written"):
            act(sheet)


def test_a_row_changed_between_look_and_writing_is_not_written_over():
    files.bring_in(files.CUSTOMERS)
    sheet = files.look(files.CUSTOMERS.replace("555-010-0101", "555-010-0199"))
    _, job = ask_to_write(sheet, only_good_rows=False, actor=files.office(), now=cast.NOW)
    looked = plan_writing(sheet.pk, cast.NOW)
    customer = Customer.objects.get(reference="K-1")
    change_row(customer, {"name": "Ingrid H."}, actor=None, now=cast.NOW)

    with pytest.raises(RefusedError):
        write_import(sheet.pk, cast.NOW, looked)

    run_job(job.pk, now=cast.NOW)
    customer.refresh_from_db()
    assert (customer.phone, customer.revision) == ("555-010-0199", 3)


def test_the_same_file_sent_twice_before_a_look_is_one_import():
    first, job = files.keep(files.CUSTOMERS)

    assert files.keep(files.CUSTOMERS) == (first, job)
    assert files.keep(files.CUSTOMERS, takes_alike=True)[0] != first
    assert Job.objects.count() == 2


def test_a_file_is_kept_in_parts_and_read_across_them(monkeypatch):
    monkeypatch.setattr(import_files, "PIECE_BYTES", 7)
    text = files.CUSTOMERS.replace("Ingrid", "Ingröd")

    sheet, job = files.keep(text)
    assert sheet.parts.count() > 10
    run_job(job.pk, now=cast.NOW)
    files.write(Import.objects.get())

    assert Customer.objects.get(reference="K-1").name == "Ingröd Holm"


@pytest.mark.parametrize(
    ("text", "said", "field", "code"),
    [
        (b"", {}, "file", "empty-file"),
        (b"\n\n", {}, "file", "empty-file"),
        (b"PK\x03\x04 a workbook", {}, "file", "not-csv"),
        ("Reference,Name,Shoe size\nK-1,A,44\n", {}, "headings", "heading-unknown"),
        ("Reference,E-mail\nK-1,a@b.example\n", {}, "headings", "heading-missing"),
        ("Reference,Name,Full name\nK-1,A,B\n", {}, "headings", "heading-twice"),
        (files.CUSTOMERS, {"headings": {"Kd-Nr": "Reference"}}, "headings", "no-such-heading"),
        ("Reference,Name\n" + "," * 300, {"encoding": "utf-16"}, "encoding", "wrong-encoding"),
    ],
)
def test_what_is_no_such_file_is_refused_at_once(text, said, field, code):
    with pytest.raises(InvalidInputError) as refusal:
        files.keep(text, **said)

    assert (refusal.value.field, refusal.value.code) == (field, code)
    assert refusal.value.remedy
    assert not Import.objects.exists()


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (files.CUSTOMERS + 'K-3,"Open', "open-quote"),
        (files.CUSTOMERS * 3, "too-many-rows"),
    ],
)
def test_what_shows_late_makes_the_whole_file_unreadable(settings, text, code):
    settings.IMPORT_MAX_ROWS = 6

    sheet = files.look(text)

    assert (sheet.state, sheet.report["refusal"]["code"]) == ("unreadable", code)
    assert not ImportPart.objects.exists()
    with pytest.raises(RefusedError):
        files.write(sheet)


def test_a_file_may_be_as_large_as_the_setting_says(settings):
    settings.IMPORT_MAX_BYTES = len(files.CUSTOMERS)
    files.keep(files.CUSTOMERS)

    with pytest.raises(InvalidInputError) as refusal:
        files.keep(files.CUSTOMERS + "\n")
    assert refusal.value.code == "file-too-large"


def test_an_id_in_the_place_of_a_reference_means_that_row():
    customer = cast.make_customer()
    text = f"Reference,Name\nid:{customer.pk},Ingrid H.\n"

    assert files.bring_in(text).report["changed"] == 1
    customer.refresh_from_db()
    assert (customer.name, customer.reference) == ("Ingrid H.", "")
    assert files.bring_in(text).report["unchanged"] == 1


def test_a_controller_entered_by_hand_gets_the_reference_of_the_file():
    files.bring_in(files.CUSTOMERS)
    files.bring_in(files.PROPERTIES, "properties")
    by_hand = cast.make_controller(Property.objects.get(reference="P-1"))

    files.bring_in("Reference,Property no,Name\nC-1,P-1,Garage\n", "controllers")

    by_hand.refresh_from_db()
    assert (Controller.objects.count(), by_hand.reference) == (1, "C-1")


def test_a_file_sent_again_while_its_job_runs_gets_no_second_job():
    _, job = files.keep(files.CUSTOMERS)
    Job.objects.filter(pk=job.pk).update(state="running", claimed_until=cast.NOW)

    _, again = files.keep(files.CUSTOMERS)

    assert again.pk == job.pk
    assert Job.objects.count() == 1
