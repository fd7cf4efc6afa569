"""Have all zones looked at once more today; workers do it."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from properties.domain.errors import DomainError
from scheduling.services.night_runs import run_again


class Command(BaseCommand):
    help = "Ask for a night's look at all zones, beside the one that comes by itself."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            run = run_again(now=timezone.now())
        except DomainError as refusal:
            raise CommandError(f"{refusal.detail} {refusal.remedy}") from refusal
        self.stdout.write(f"run {run.number} of {run.date} is asked for")
