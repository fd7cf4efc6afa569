"""Set up a new installation: the company and its first office user."""

from __future__ import annotations

import os
import secrets
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from properties.domain.errors import DomainError
from properties.models.company import UNIT_SYSTEMS
from properties.services.company import start_company


class Command(BaseCommand):
    help = (
        "Create the company and its first office user. The password comes from the environment"
        " variable OFFICE_PASSWORD, or is made and printed once."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="The company's name, as on paper.")
        parser.add_argument("office_email")
        parser.add_argument("--office-name", default="Office")
        parser.add_argument("--contact-line", default="")
        parser.add_argument("--units", choices=[code for code, _ in UNIT_SYSTEMS], default="us")
        parser.add_argument("--time-zone", default="America/Chicago")
        parser.add_argument("--currency", default="USD")

    def handle(self, *args: Any, **options: Any) -> None:
        given = os.environ.get("OFFICE_PASSWORD", "")
        password = given or secrets.token_urlsafe(12)
        names = ("name", "contact_line", "units", "time_zone", "currency")
        try:
            start_company(
                {name: options[name] for name in names},
                office_email=options["office_email"], office_name=options["office_name"],
                password=password, now=timezone.now(),
            )  # fmt: skip
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        except DomainError as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"{options['name']} is set up. Sign in as {options['office_email']}.")
        self.stdout.write(f"First set up a second factor: {settings.PUBLIC_URL}/second-factor")
        if not given:
            self.stdout.write(f"Password (shown once): {password}")
