"""Finding who a token belongs to, in one query."""

from __future__ import annotations

from properties.selectors.tokens import valid_token
from properties.services.sign_in import hash_secret, issue_token
from tests import cast


def test_a_valid_token_is_found_with_its_owner(office, django_assert_num_queries):
    token, secret = issue_token(office, label="x", actor=office, now=cast.NOW)

    with django_assert_num_queries(1):
        found = valid_token(hash_secret(secret), cast.NOW)
        assert found.staff == office
    assert found == token


def test_an_unknown_ended_or_leavers_token_is_none(office):
    token, secret = issue_token(office, label="x", actor=office, now=cast.NOW)

    assert valid_token(hash_secret("other"), cast.NOW) is None
    assert valid_token(hash_secret(secret), token.expires_at) is None
    office.is_active = False
    office.save()
    assert valid_token(hash_secret(secret), cast.NOW) is None
