"""Monthly notices of many clients: queued in bounded memory, then sent by one and by two workers.

    export DATABASE_URL=postgres://postgres@127.0.0.1:5432/<database>
    python -m tests.benchmarks.notices

Makes a test database beside the one named, and drops it again. Printed: notices queued a second and
the growth of memory from a tenth of the clients to all of them; PDF sheets and messages a second
for one polling worker and for two, with a mail server on this machine; the floor beside them is the
same sheets rendered and the same messages given to that server in one process, with no row written.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import resource
import subprocess
import sys
import tempfile
import time

import django

NOW = dt.datetime(2026, 6, 28, 15, 0, tzinfo=dt.UTC)
CLIENTS, SENT = 10_000, 600


def make_clients(count: int) -> None:
    """Make so many clients, each with a garden of three planned zones."""
    from properties.models import Controller, Customer, Property, Zone
    from scheduling.models import WateringPlan
    from scheduling.services.plans import store_plans
    from tests import cast

    row = cast.ROW
    if not WateringPlan.objects.exists():
        cast.make_weather(cast.make_station())
        first = cast.make_property(cast.make_customer(name="Client", wants_notices=True))
        zone = cast.make_zone(cast.make_controller(first))
        cast.make_heads(zone)
        store_plans(first, actor=None, now=NOW)
    model = WateringPlan.objects.order_by("pk").first()
    assert model is not None
    clients = Customer.objects.bulk_create(
        Customer(name=f"Client {n}", email=f"c{n}@client.example", wants_notices=True, **row)
        for n in range(count)
    )
    gardens = Property.objects.bulk_create(
        Property(customer=client, name="Garden", street="1 Kiln Street", city="Tallgrass",
                 time_zone="America/Chicago", latitude=40.0, longitude=-100.0, **row)
        for client in clients
    )  # fmt: skip
    boxes = Controller.objects.bulk_create(
        Controller(property=garden, name="Garage", **row) for garden in gardens
    )
    zones = Zone.objects.bulk_create(
        (
            Zone(property=box.property, controller=box, number=number, name="Lawn", area_m2=100.0,
                 head_kind="spray", plant_type="cool_turf", soil_texture="loam",
                 exposure="full_sun", **row)
            for box in boxes for number in (1, 2, 3)
        ),
        2000,
    )  # fmt: skip
    WateringPlan.objects.bulk_create(
        (
            WateringPlan(zone=zone, number=1, station=model.station, is_estimated=True,
                         inputs=model.inputs, months=model.months, settings_digest="x", **row)
            for zone in zones
        ),
        500,
    )  # fmt: skip


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def queue_all() -> None:
    from properties.models import Company
    from scheduling.services.monthly_notices import make_monthly_notices

    before = peak_mb()
    start = time.perf_counter()
    count = make_monthly_notices(Company.objects.get().pk, NOW)
    seconds = time.perf_counter() - start
    print(
        f"queued {count:6} in {seconds:6.1f} s = {count / seconds:5.0f} a second;"
        f" peak memory {peak_mb():.0f} MB (before {before:.0f})"
    )


def send(workers: int, count: int, mail_port: int) -> None:
    """Let so many polling workers make the sheets, and then send the messages, of some notices."""
    from properties.models import Job
    from scheduling.models import Notice

    chosen = list(Notice.objects.filter(state="queued").values_list("pk", flat=True)[:count])
    later = NOW + dt.timedelta(days=9999)
    Job.objects.exclude(subject_id__in=chosen).filter(state="waiting").update(due_at=later)
    Job.objects.filter(subject_id__in=chosen).update(due_at=NOW)
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        processes = [start_worker(folder, mail_port) for _ in range(workers)]
        for process in processes:
            process.wait()
    seconds = time.perf_counter() - start
    sent = Notice.objects.filter(pk__in=chosen, state="sent").count()
    print(
        f"{workers} worker(s): {sent} of {len(chosen)} rendered and sent in {seconds:5.1f} s"
        f" = {sent / seconds:5.1f} a second (start of the process included)"
    )


def start_worker(folder: str, mail_port: int) -> subprocess.Popen[bytes]:
    from django.db import connection

    database = connection.settings_dict
    login = f"{database['USER']}:{database['PASSWORD']}".rstrip(":")
    env = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "config.settings.test",
        "DATABASE_URL": f"postgres://{login}@{database['HOST']}:{database['PORT'] or 5432}"
        f"/{database['NAME']}",
        "REDIS_URL": "", "EMAIL_URL": f"smtp://127.0.0.1:{mail_port}", "VAR_DIR": folder,
    }  # fmt: skip
    command = [sys.executable, "manage.py", "work", "--once"]
    return subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL)


def floor(count: int, mail_port: int) -> None:
    """Render and hand over the same, and write nothing."""
    from django.core.mail import get_connection

    from reports.services.delivery import mail_of
    from reports.services.notice_sheets import sheet_bytes
    from scheduling.models import Notice

    rows = Notice.objects.filter(state="queued").select_related("customer", "staff", "property")
    sheets = messages = 0.0
    backend = "django.core.mail.backends.smtp.EmailBackend"
    for notice in rows[:count]:
        start = time.perf_counter()
        pdf = sheet_bytes(notice)
        sheets += time.perf_counter() - start
        start = time.perf_counter()
        message = mail_of(notice, pdf, now=NOW)
        message.connection = get_connection(backend, host="127.0.0.1", port=mail_port)
        message.send()
        messages += time.perf_counter() - start
    print(
        f"floor, one process: sheet {1000 * sheets / count:.1f} ms, message"
        f" {1000 * messages / count:.1f} ms = {count / (sheets + messages):.1f} a second"
    )


def run(clients: int, sent: int) -> None:
    from tests import cast
    from tests.reports.faults.mail_server import serving_mail

    cast.make_company()
    make_clients(clients // 10)
    queue_all()
    make_clients(clients - clients // 10)
    queue_all()
    with serving_mail() as mail:
        floor(min(sent, 200), mail.port)
        for workers in (1, 2):
            send(workers, sent, mail.port)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=CLIENTS)
    parser.add_argument("--sent", type=int, default=SENT)
    arguments = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.test")
    django.setup()
    from django.db import connection

    if connection.vendor != "postgresql":
        print("Name a PostgreSQL database in DATABASE_URL.")
        return 2
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        run(arguments.clients, arguments.sent)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
