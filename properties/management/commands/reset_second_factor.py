"""Take a lost second factor away, where no other office user is left to do it."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from properties.models import Role, StaffMember
from properties.services.lockouts import unlock
from properties.services.second_factor import reset_second_factor


class Command(BaseCommand):
    help = "Reset the second factor of an office user, and unlock the account."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")

    def handle(self, *args: Any, **options: Any) -> None:
        email, now = options["email"].strip().lower(), timezone.now()
        member = StaffMember.objects.filter(email=email, role=Role.OFFICE).first()
        if member is None:
            raise CommandError(f"No office user has the address {email}.")
        reset_second_factor(member, actor=None, now=now)
        unlock(member, actor=None, now=now)
        self.stdout.write(
            f"Reset. A new second factor is set up at {settings.PUBLIC_URL}/second-factor."
        )
