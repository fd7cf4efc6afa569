"""A script for a test: use the API while another connection writes to the same SQLite file."""

from __future__ import annotations

import json
import os
import sqlite3
from typing import Any

import django

django.setup()

from django.core.management import call_command  # noqa: E402
from django.utils import timezone  # noqa: E402
from rest_framework.test import APIClient  # noqa: E402

from properties.services.company import start_company  # noqa: E402
from properties.services.sign_in import issue_token  # noqa: E402


def answers() -> dict[str, Any]:
    """Return the answers to a reader and to a writer, while and after somebody else writes."""
    call_command("migrate", verbosity=0)
    _, office = start_company(
        {"name": "Meadowlark"}, office_email="office@meadowlark.example", office_name="Office",
        password="a-long-and-odd-password", now=timezone.now(),
    )  # fmt: skip
    _, secret = issue_token(office, label="test", actor=office, now=timezone.now())
    api = APIClient()
    api.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")

    other = sqlite3.connect(os.environ["LOCKED_FILE"], isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    other.execute("UPDATE properties_company SET contact_line = 'being written'")
    reads = {
        path: api.get(f"/api/v1/{path}").status_code
        for path in ("company", "customers", "staff", "events", "jobs", "zones", "visits")
    }
    write = api.post("/api/v1/customers", {"name": "Ingrid"})
    other.execute("ROLLBACK")
    return {
        "reads": reads,
        "write": [write.status_code, write["Content-Type"], write.get("Retry-After")],
        "later": api.post("/api/v1/customers", {"name": "Ingrid"}).status_code,
    }


print(json.dumps(answers()))
