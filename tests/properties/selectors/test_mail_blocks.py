"""The database names the same clients and the same reasons as the row itself does."""

from __future__ import annotations

import pytest

from properties.models import Customer
from properties.models.customers import MailBlock, address_sha256
from properties.selectors.mail_blocks import blocked_by, mailable
from tests import cast
from tests.problems import pointers

URL = "/api/v1/customers"
ADDRESSES = (
    "", "ingrid@holm.example", "Ingrid.Holm+notes@mail.holm.example", "o'hara@holm.example",
    '"two words"@holm.example', "ingrid@[192.0.2.1]", "ingrid@localhost", "ingrid@holm",
    "ingrid holm@holm.example", "ingrid@@holm.example", ".ingrid@holm.example",
    "ingrid@-holm.example", "ingrid@holm..example", "ingrid", "@holm.example",
    f"{'i' * 65}@holm.example", f"ingrid@{'h' * 64}.example", "ingrid@holm.example\n",
    "ingrid@bücher.example",
)  # fmt: skip


@pytest.fixture
def clients(company):
    for address in ADDRESSES:
        for wants, stopped, refused in (
            (True, None, ""), (True, cast.NOW, address_sha256(address)),
            (True, None, address_sha256("other@holm.example")), (False, None, ""),
            (False, cast.NOW, ""),
        ):  # fmt: skip
            cast.make_customer(
                email=address, wants_notices=wants, unsubscribed_at=stopped,
                refused_address_sha256=refused,
            )  # fmt: skip
    return list(Customer.objects.all())


def test_each_reason_finds_the_clients_of_whom_it_holds(clients):
    for block in MailBlock:
        told = {client.pk for client in clients if client.mail_block() == block}
        found = set(blocked_by(Customer.objects.all(), block).values_list("pk", flat=True))
        assert told, block
        assert found == told, block


def test_all_are_mailable_or_not(clients):
    reached = {client.pk for client in clients if client.mail_block() is None}
    found = mailable(Customer.objects.all(), can_be_mailed=True)
    others = mailable(Customer.objects.all(), can_be_mailed=False)

    assert set(found.values_list("pk", flat=True)) == reached
    assert set(others.values_list("pk", flat=True)) == {row.pk for row in clients} - reached


def test_the_list_tells_who_cannot_be_mailed_and_why(office_api, clients):
    def blocks(**query: str) -> set[str | None]:
        rows = office_api.get(URL, {"limit": 200, **query}).json()["results"]
        return {row["mail_block"] for row in rows}

    assert blocks(mail_block="broken-address") == {"broken-address"}
    assert blocks(mail_block="no-consent,unsubscribed") == {"no-consent", "unsubscribed"}
    assert blocks(can_be_mailed="true") == {None}
    assert blocks(can_be_mailed="false") == {block.value for block in MailBlock}
    assert pointers(office_api.get(URL, {"mail_block": "lazy"})) == ["/mail_block"]
