"""Is the process alive, and can it serve?"""

from __future__ import annotations

from django.db import Error, connection
from django.http import HttpRequest, JsonResponse


def healthz(request: HttpRequest) -> JsonResponse:
    """Answer as long as the process lives; touches nothing."""
    return JsonResponse({"alive": True})


def readyz(request: HttpRequest) -> JsonResponse:
    """Answer 200 when the database answers, else 503."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except Error:
        return JsonResponse({"ready": False}, status=503)
    return JsonResponse({"ready": True})
