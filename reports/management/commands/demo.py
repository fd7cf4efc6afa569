"""Show the main job from a client's property to a program that he can set, over HTTP."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from properties.domain.errors import DomainError
from reports.management.demo import replay_table, servers, story, table
from reports.management.demo.client import ApiClient, ApiError
from reports.management.demo.sign_in import SIGN_IN_FILE, demo_sign_in

FIXTURES: Path = settings.BASE_DIR / "fixtures"


class Command(BaseCommand):
    help = "Act the main job as the office and the technician would, and print what came of it."

    def handle(self, *args: Any, **options: Any) -> None:
        began = time.monotonic()
        company, data, audit = (_fixture(name) for name in ("company", "property", "audit"))
        call_command("migrate", verbosity=0)
        try:
            sign_in = demo_sign_in(company, settings.VAR_DIR / SIGN_IN_FILE, timezone.now())
        except DomainError as refusal:
            raise CommandError(str(refusal)) from refusal
        try:
            with servers.running(servers.free_port(), settings.VAR_DIR) as base_url:
                self.stdout.write(f"Server on {base_url}, worker beside it.\n")
                outcome, proof = self._act(base_url, sign_in, company["technician"], data, audit)
        except (ApiError, story.WorkTimeoutError) as failure:
            raise CommandError(f"{failure}\nLogs: web.log, worker.log in VAR_DIR.") from failure
        self._print(outcome, proof)
        self.stdout.write(
            f"\nDone in {time.monotonic() - began:.0f} s. `make serve` shows the same company; sign"
            f" in as {sign_in['email']} with {sign_in['password']}"
        )

    def _act(
        self,
        base_url: str,
        sign_in: dict[str, str],
        technician: dict[str, str],
        data: dict[str, Any],
        audit: dict[str, Any],
    ) -> tuple[story.Outcome, story.Proof]:
        office = ApiClient(base_url)
        office.token = office.post(f"{story.API}/sign-in", {**sign_in, "label": "Demo"})["token"]
        self._bring_weather(office)
        story.register_property(office, data)
        technician_id, token = story.technician_of(office, technician)
        property_id = data["property"]["id"]
        visit_id = story.plan_visit(office, property_id, technician_id)
        self.stdout.write("Office: client, property, six zones and an audit are in.\n")
        tests = story.do_audit(ApiClient(base_url, token), visit_id, data, audit)
        self.stdout.write(
            f"Technician: program found, {len(tests)} tests, {len(audit['findings'])} faults;"
            " visit finished.\n"
        )
        outcome = story.fetch_outcome(office, visit_id, property_id, tests)
        return outcome, story.fit_and_replay(office, property_id, data["controller"]["id"])

    def _bring_weather(self, office: ApiClient) -> None:
        weather = FIXTURES / "weather"
        station = json.loads((weather / "station.json").read_text())
        story.register_station(office, station)
        call_command("import_weather", str(weather / station["file"]), stdout=self.stdout)

    def _print(self, outcome: story.Outcome, proof: story.Proof) -> None:
        path = settings.VAR_DIR / f"audit-summary-{outcome.document['number']}.pdf"
        path.write_bytes(outcome.pdf)
        self.stdout.write("\n" + "\n".join(table.lines(outcome.season, outcome.tests)))
        faults = ", ".join(ticket["fault"].replace("_", " ") for ticket in outcome.tickets)
        self.stdout.write(f"\nTickets: {faults}.")
        self.stdout.write(f"PDF: {path.relative_to(settings.VAR_DIR.parent)}\n\n{proof.program}")
        self.stdout.write("\n".join(replay_table.lines(proof.replay, outcome.season["zones"])))


def _fixture(name: str) -> dict[str, Any]:
    content: dict[str, Any] = json.loads((FIXTURES / "demo" / f"{name}.json").read_text())
    return content
