"""What the database holds of requests that were done."""

from __future__ import annotations

import pytest
from django.db import IntegrityError

from properties.models import IdempotencyKey
from tests import cast
from tests.properties.models.writes import insert


def kept(**changes):
    values = {"key": "k", "request_sha256": "x", "status": 202, "created_at": cast.NOW}
    return {**values, **changes}


def test_a_key_stands_once_for_each_caller(office, technician):
    insert(IdempotencyKey, **kept(caller=office))
    insert(IdempotencyKey, **kept(caller=technician))
    with pytest.raises(IntegrityError):
        insert(IdempotencyKey, **kept(caller=office))


def test_the_id_of_a_row_stands_once_whoever_sent_it(office):
    insert(IdempotencyKey, **kept(caller=None))
    insert(IdempotencyKey, **kept(caller=office))
    with pytest.raises(IntegrityError):
        insert(IdempotencyKey, **kept(caller=None))


def test_it_is_named_by_its_key(office):
    assert str(IdempotencyKey(**kept(caller=office))) == "k (202)"
