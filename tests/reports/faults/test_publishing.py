"""Redis is away when notices are queued: the business is done, quickly, and all is sent later."""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Iterator

import pytest

from properties.services.sign_in import issue_token
from scheduling.models import Notice
from tests import cast
from tests.reports.faults.gardens import queue
from tests.reports.faults.stage import SOCKET_TIMEOUT_S, Stage, check

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]

BUSINESS_S = 3.0  # with nobody to wait for, on a machine that does much else
TRIES = 2
"""A silent broker is waited for so often; then never again, for as long as HINT_PAUSE_S."""


@contextlib.contextmanager
def away(scene: Stage) -> Iterator[None]:
    """Nobody listens where Redis was."""
    scene.stop_redis()
    yield


@contextlib.contextmanager
def silent(scene: Stage) -> Iterator[None]:
    """Connections are taken where Redis was, and nothing is ever answered."""
    scene.stop_redis()
    with socket.create_server(("127.0.0.1", scene.redis_port), backlog=50):
        yield


HOW = pytest.mark.parametrize(
    ("broker", "longest_s"),
    [(away, BUSINESS_S), (silent, BUSINESS_S + TRIES * SOCKET_TIMEOUT_S)],
    ids=["away", "silent"],
)


@HOW
def test_redis_is_not_there_when_notices_are_queued(scene, garden, broker, longest_s):
    whose = {"customer_id": str(garden.customer_id), "property_id": str(garden.pk)}
    with broker(scene):
        told = scene.publish("queue", count=20, **whose)
        assert Notice.objects.filter(state="queued").count() == told["queued"] == 20

    check_sent_after_all(scene, told["seconds"], f"Redis {broker.__name__} at publish, 20 at once")
    assert told["seconds"] < longest_s


@HOW
def test_redis_is_not_there_during_a_request(scene, garden, broker, longest_s):
    queue(scene, garden, 1)
    Notice.objects.update(state="parked")
    office = cast.make_office()
    _, token = issue_token(office, label="test", actor=office, now=scene.clock.now())
    path = f"/api/v1/notices/{Notice.objects.get().pk}/try-again"
    with broker(scene):
        told = scene.publish("post", path=path, token=token)
        assert told["status"] == 200
        assert Notice.objects.get().state == "queued"

    check_sent_after_all(scene, told["seconds"], f"Redis {broker.__name__} during a request")
    assert told["seconds"] < longest_s


def check_sent_after_all(scene: Stage, published_s: float, fault: str) -> None:
    scene.strikes()
    scene.start_redis()
    scene.start_worker()
    scene.start_beat()
    check(scene, fault=fault, note=f"published in {published_s:.1f} s")
