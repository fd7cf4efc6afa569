"""A secret key for machines on which nobody set one: made once, kept under var/."""

from __future__ import annotations

import os
import secrets
from pathlib import Path


def stored_secret_key(var_dir: Path) -> str:
    """Return the key in `var_dir/secret-key`, made with mode 600 by whoever comes first."""
    path = var_dir / "secret-key"
    if not path.exists():
        draft = var_dir / f"secret-key.{os.getpid()}"
        descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w") as file:
            file.write(secrets.token_urlsafe(50))
        try:
            os.link(draft, path)
        except FileExistsError:
            pass
        finally:
            draft.unlink()
    return path.read_text()
