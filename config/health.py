"""Is the process alive, and can it serve?"""

from __future__ import annotations

from django.db import Error, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse

_SEEN_MIGRATED: set[str] = set()


def healthz(request: HttpRequest) -> JsonResponse:
    """Answer as long as the process lives; touches nothing."""
    return JsonResponse({"alive": True})


def readyz(request: HttpRequest) -> JsonResponse:
    """Answer 200 when the database answers and has what this code expects of it, else 503.

    Redis is not asked for: without it hints get lost, and the sweep finds the rows later.
    """
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        ready = _is_migrated()
    except Error:
        ready = False
    return JsonResponse({"ready": ready}, status=200 if ready else 503)


def _is_migrated() -> bool:
    """Tell whether no migration of this code is missing; a yes holds as long as the process."""
    name = str(connection.settings_dict["NAME"])
    if name not in _SEEN_MIGRATED:
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            return False
        _SEEN_MIGRATED.add(name)
    return True
