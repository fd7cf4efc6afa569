"""Look after the notices: how they stand, stop and go on, try again what ended badly."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from scheduling.models import Notice, NoticeState
from scheduling.selectors.operation import operation
from scheduling.services.notices import pause_notices, resume_notices, try_again


class Command(BaseCommand):
    help = "Look after the notices: status, pause, resume, or try again those given up."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("act", choices=["status", "pause", "resume", "try-again"])

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        if options["act"] == "pause":
            pause_notices(actor=None, now=now)
        elif options["act"] == "resume":
            resume_notices(actor=None, now=now)
        elif options["act"] == "try-again":
            parked = list(Notice.objects.filter(state=NoticeState.PARKED))
            for notice in parked:
                try_again(notice, actor=None, now=now)
            self.stdout.write(f"{len(parked)} wait to be sent again")
            return
        self.stdout.write(json.dumps(operation(now), default=str, indent=2))
