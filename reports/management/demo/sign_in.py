"""The demo's office account: made once, its password kept under var/ for `make serve` to show."""

from __future__ import annotations

import json
import os
import secrets
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from properties.domain.errors import RefusedError
from properties.models import Company, StaffMember
from properties.services.company import start_company
from properties.services.staff import set_password

SIGN_IN_FILE: Final = "demo-sign-in.json"


def demo_sign_in(data: dict[str, Any], path: Path, now: datetime) -> dict[str, str]:
    """Return the sign-in of the demo's office user, founding the company if there is none."""
    company = Company.objects.first()
    if company is not None and company.name != data["company"]["name"]:
        raise RefusedError(
            f"This database belongs to {company.name}.",
            code="not-the-demo",
            remedy="Run the demo on a database of its own: set VAR_DIR or DATABASE_URL.",
        )
    known = _known(path) if company is not None else None
    if known is not None:
        return known
    sign_in = {"email": data["office"]["email"], "password": secrets.token_urlsafe(12)}
    if company is None:
        start_company(
            data["company"], office_email=sign_in["email"], office_name=data["office"]["name"],
            password=sign_in["password"], now=now,
        )  # fmt: skip
    else:
        office = StaffMember.objects.get(email=sign_in["email"])
        set_password(office, sign_in["password"], actor=None, now=now)
    _keep(path, sign_in)
    return sign_in


def _known(path: Path) -> dict[str, str] | None:
    """Return what is kept, unless it belongs to another database."""
    if not path.exists():
        return None
    kept: dict[str, str] = json.loads(path.read_text())
    office = StaffMember.objects.filter(email=kept["email"]).first()
    return kept if office is not None and office.check_password(kept["password"]) else None


def _keep(path: Path, sign_in: dict[str, str]) -> None:
    path.unlink(missing_ok=True)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w") as file:
        json.dump(sign_in, file)
