"""The names of this app's background jobs."""

from __future__ import annotations

from typing import Final

NOTICE_SHEET: Final = "notice-sheet"
DELIVER_NOTICE: Final = "deliver-notice"
OF_NOTICES: Final = (NOTICE_SHEET, DELIVER_NOTICE)
