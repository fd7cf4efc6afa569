"""A clock that a test moves, for all processes at once: the real one and an offset in a file."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path


class Clock:
    def __init__(self, folder: Path) -> None:
        self.path = folder / "clock"

    def now(self) -> dt.datetime:
        offset = float(self.path.read_text())
        return dt.datetime.now(dt.UTC) + dt.timedelta(seconds=offset)

    def set(self, moment: dt.datetime) -> None:
        """Let it be that moment now; the clock goes on from there."""
        offset = (moment - dt.datetime.now(dt.UTC)).total_seconds()
        draft = self.path.with_suffix(".draft")
        draft.write_text(str(offset))
        draft.replace(self.path)


def moved_now() -> dt.datetime:
    """Stand in for `django.utils.timezone.now` in processes of a stage."""
    return Clock(Path(os.environ["FAULTS_FOLDER"])).now()
