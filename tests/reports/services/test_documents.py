"""Making documents: once for each content, whole or not at all."""

from __future__ import annotations

import datetime as dt
import hashlib

import pytest

from audits.models import CatchTest
from audits.services.visits import finish_visit
from properties.domain.errors import RefusedError
from properties.models import Event, Job
from properties.services.jobs import ask_for, due_job_ids, run_job
from reports.models import Document
from reports.services import documents
from reports.services.documents import (
    AUDIT_SUMMARY_JOB,
    ask_for_audit_summary,
    make_audit_summary,
)
from tests import cast

LATER = cast.NOW + dt.timedelta(hours=1)


@pytest.fixture
def finished(visit, zone, station, technician):
    cast.make_catch_test(visit, zone)
    return finish_visit(visit, actor=technician, now=cast.NOW)


@pytest.fixture
def job(finished, office):
    return ask_for_audit_summary(finished, actor=office, now=cast.NOW)


def test_the_document_holds_the_bytes_and_their_hash(finished):
    result = make_audit_summary(finished.pk, cast.NOW)

    document = Document.objects.get()
    assert result == {"document": str(document.pk), "revision": 1}
    pdf = bytes(document.pdf)
    assert pdf.startswith(b"%PDF-")
    assert document.sha256 == hashlib.sha256(pdf).hexdigest()
    assert document.size_bytes == len(pdf)
    assert (document.kind, document.number) == ("audit_summary", 1)
    assert (document.visit, document.property) == (finished, finished.property)
    assert document.title == "Audit of Holm garden"
    assert Event.objects.get(subject_id=document.pk).after["pdf"] == f"{len(pdf)} bytes"


def test_the_same_content_is_stored_once(finished):
    first = make_audit_summary(finished.pk, cast.NOW)

    assert make_audit_summary(finished.pk, LATER) == first
    assert Document.objects.count() == 1


def test_a_changed_fact_makes_a_new_revision_and_the_old_one_stays(finished):
    make_audit_summary(finished.pk, cast.NOW)
    before = Document.objects.values().get()
    CatchTest.objects.update(rate_mm_h=41.0)

    result = make_audit_summary(finished.pk, LATER)

    first, second = Document.objects.order_by("number")
    assert Document.objects.values().get(pk=first.pk) == before
    assert (result["revision"], second.number) == (2, 2)
    assert second.sha256 != first.sha256
    assert second.created_at == LATER
    assert make_audit_summary(finished.pk, LATER)["revision"] == 2


def test_each_visit_counts_its_own_revisions(finished, garden, technician):
    other = cast.make_visit_under_way(garden, technician)
    other = finish_visit(other, actor=technician, now=cast.NOW)

    for visit in (finished, other):
        assert make_audit_summary(visit.pk, cast.NOW)["revision"] == 1


@pytest.mark.parametrize("state", ["planned", "under_way", "missed", "called_off"])
def test_refuses_a_visit_that_is_not_finished(garden, technician, office, state):
    moments = {"started_at": cast.NOW} if state == "under_way" else {}
    visit = cast.make_visit(garden, technician, state=state, **moments)

    with pytest.raises(RefusedError) as refusal:
        ask_for_audit_summary(visit, actor=office, now=cast.NOW)

    assert (refusal.value.code, refusal.value.field) == ("visit-state", "visit")
    assert not Job.objects.exists()


def test_asking_twice_waits_once(job, finished, technician):
    again = ask_for_audit_summary(finished, actor=technician, now=LATER)

    assert again.pk == job.pk


def test_the_job_run_twice_makes_one_document(job):
    done = run_job(job.pk, now=cast.NOW)
    again = run_job(job.pk, now=LATER)

    assert (done.state, again) == ("done", None)
    assert done.result["document"] == str(Document.objects.get().pk)


def test_the_job_asked_for_again_finds_its_document(job, finished, office):
    first = run_job(job.pk, now=cast.NOW)
    second = run_job(ask_for_audit_summary(finished, actor=office, now=LATER).pk, now=LATER)

    assert second.pk != first.pk
    assert second.result == first.result
    assert Document.objects.count() == 1


class KilledError(BaseException):
    """As if the worker's process had ended here."""


@pytest.mark.parametrize("place", ["render_audit_summary", "add_row"])
def test_killed_in_the_middle_there_is_none_and_after_the_lease_one(
    job, monkeypatch, settings, place
):
    whole = getattr(documents, place)

    def killed(*args, **keywords):
        whole(*args, **keywords)
        raise KilledError

    monkeypatch.setattr(documents, place, killed)
    with pytest.raises(KilledError):
        run_job(job.pk, now=cast.NOW)
    assert not Document.objects.exists()
    assert Job.objects.get(pk=job.pk).state == "running"

    monkeypatch.setattr(documents, place, whole)
    still_leased = cast.NOW + dt.timedelta(seconds=settings.JOB_LEASE_S - 1)
    assert run_job(job.pk, now=still_leased) is None
    after = cast.NOW + dt.timedelta(seconds=settings.JOB_LEASE_S)
    assert job.pk in due_job_ids(now=after)
    assert run_job(job.pk, now=after).state == "done"
    assert Document.objects.count() == 1


def test_a_renderer_that_breaks_leaves_nothing_and_is_tried_again(job, monkeypatch):
    def broken(content):
        raise ZeroDivisionError

    with monkeypatch.context() as patched:
        patched.setattr(documents, "render_audit_summary", broken)
        assert run_job(job.pk, now=cast.NOW).state == "waiting"
    assert not Document.objects.exists()

    assert run_job(job.pk, now=LATER).state == "done"
    assert Document.objects.count() == 1


def test_a_finished_visit_asks_for_its_summary_after_its_plans(finished):
    (plans,) = Job.objects.all()

    run_job(plans.pk, now=cast.NOW)

    summary = Job.objects.exclude(pk=plans.pk).get()
    assert (summary.kind, summary.subject_id) == (AUDIT_SUMMARY_JOB, finished.pk)
    assert summary.asked_by is None


def test_the_job_of_a_visit_that_is_gone_is_parked_in_the_end(company):
    job = ask_for(AUDIT_SUMMARY_JOB, company.pk, asked_by=None, now=cast.NOW)

    states = [run_job(job.pk, now=cast.NOW).state for _ in range(3)]

    assert states == ["waiting", "waiting", "parked"]
