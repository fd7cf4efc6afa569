"""What the database itself holds true of documents."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from reports.models import Document
from tests import cast


@pytest.mark.parametrize("changes", [{"kind": "poem"}, {"number": 3}])
def test_what_cannot_be_is_not_stored(visit, changes):
    for number in (1, 2):
        Document.objects.create(
            kind="audit_summary", property=visit.property, visit=visit, number=number, title="A",
            content_digest="-", sha256="-", size_bytes=1, pdf=b"%", **cast.ROW,
        )  # fmt: skip

    with pytest.raises(IntegrityError), transaction.atomic():
        Document.objects.update(**changes)

    assert str(Document.objects.get(number=2)) == "A (revision 2)"
