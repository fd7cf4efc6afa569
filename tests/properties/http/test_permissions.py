"""Default deny."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from rest_framework.response import Response
from rest_framework.test import APIRequestFactory
from rest_framework.views import APIView

from properties.http.permissions import Access, DeclaredAccess
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.sign_in import issue_token
from tests import cast

READS = ("GET", "HEAD", "OPTIONS")
WRITES = ("POST", "PUT", "PATCH", "DELETE")


def lets_in(role: str | None, method: str, *, access: Access | None, action: str = "") -> bool:
    request = SimpleNamespace(user=SimpleNamespace(role=role), method=method, auth=None)
    view = SimpleNamespace(action=action)
    if access is not None:
        view.access = access
    return DeclaredAccess().has_permission(request, view)


@pytest.mark.parametrize("method", READS + WRITES)
@pytest.mark.parametrize("role", ["office", "technician", None])
def test_a_view_without_declared_access_answers_nobody(role, method):
    assert not lets_in(role, method, access=None)


@pytest.mark.parametrize("method", READS)
def test_reading_roles_read_and_writing_roles_write(method):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)

    assert lets_in("technician", method, access=access)
    for write in WRITES:
        assert not lets_in("technician", write, access=access)
        assert lets_in("office", write, access=access)


def test_whoever_only_writes_does_not_read():
    access = Access(read=frozenset(), write=OFFICE_ONLY)

    assert not lets_in("office", "GET", access=access)
    assert lets_in("office", "POST", access=access)


def test_a_named_act_has_its_own_roles():
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY, acts=(("start", ALL_STAFF),))

    assert lets_in("technician", "POST", access=access, action="start")
    assert not lets_in("technician", "POST", access=access, action="finish")


@pytest.mark.parametrize(
    ("kind", "method", "is_let_in"),
    [("program", "GET", True), ("program", "POST", False), ("sign_in", "POST", True)],
)
def test_what_a_person_does_himself_is_not_written_by_a_program(kind, method, is_let_in):
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY, by_person=True)
    view = SimpleNamespace(action="", access=access)
    user, auth = SimpleNamespace(role="office"), SimpleNamespace(kind=kind)
    request = SimpleNamespace(user=user, method=method, auth=auth)

    assert DeclaredAccess().has_permission(request, view) == is_let_in


def test_an_unknown_role_and_no_role_are_kept_out():
    access = Access(read=ALL_STAFF, write=ALL_STAFF)

    assert not lets_in("visitor", "GET", access=access)
    assert not lets_in(None, "GET", access=access)


def test_a_user_of_another_kind_is_kept_out():
    view = SimpleNamespace(access=Access(read=ALL_STAFF, write=ALL_STAFF), action="")
    request = SimpleNamespace(user=object(), method="GET")

    assert not DeclaredAccess().has_permission(request, view)


class ForgottenView(APIView):
    """A view whose author forgot to say who may use it."""

    def get(self, request):
        return Response({"secret": 1})


@pytest.mark.parametrize("signed_in", [True, False])
def test_a_forgotten_view_answers_nobody_under_the_projects_defaults(office, signed_in):
    _, secret = issue_token(office, label="test", actor=office, now=cast.NOW)
    header = {"HTTP_AUTHORIZATION": f"Bearer {secret}"} if signed_in else {}

    answer = ForgottenView.as_view()(APIRequestFactory().get("/", **header))

    assert answer.status_code == (403 if signed_in else 401)
    assert b"secret" not in answer.content
