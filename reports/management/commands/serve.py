"""Run the web server and a worker on this machine until Ctrl-C."""

from __future__ import annotations

import json
import signal
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser

from reports.management.demo import servers
from reports.management.demo.sign_in import SIGN_IN_FILE


class Command(BaseCommand):
    help = "Run the web server and a worker together (for one machine, not for service)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        try:
            with servers.running(options["port"]) as base_url:
                self._print_doors(base_url)
                signal.pause()
        except KeyboardInterrupt:
            self.stdout.write("Stopped.")

    def _print_doors(self, base_url: str) -> None:
        self.stdout.write(f"Office pages {base_url}/admin/, API {base_url}/api/v1/docs")
        sign_in = settings.VAR_DIR / SIGN_IN_FILE
        if sign_in.exists():
            known = json.loads(sign_in.read_text())
            self.stdout.write(f"Sign in as {known['email']} with {known['password']}")
        else:
            self.stdout.write("No company yet: `make demo`, or `manage.py start_company`.")
