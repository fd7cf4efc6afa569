"""Browser sessions: given after the second factor, ended when idle or old."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any, Final

from django.conf import settings
from django.contrib.auth import login, logout
from django.contrib.sessions.backends.base import SessionBase
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from properties.models import Role, StaffMember

BACKEND: Final = "django.contrib.auth.backends.ModelBackend"
SEEN_EACH_S: Final = 60  # so often a session that is used is written
_BEGAN, _SEEN, _FACTOR = "signed_in_at", "seen_at", "with_second_factor"


def begin_session(request: HttpRequest, member: StaffMember, *, now: datetime) -> None:
    """Sign a browser in, after `services.sign_in.identify` found who it is."""
    login(request, member, backend=BACKEND)
    request.session.update(marks_of(member, now))


def marks_of(member: StaffMember, now: datetime) -> dict[str, Any]:
    """Return what a session keeps of how it began."""
    began = now.timestamp()
    return {_BEGAN: began, _SEEN: began, _FACTOR: member.second_factor_at is not None}


def session_lets_in(session: SessionBase, user: Any) -> bool:
    """Return whether this session was opened as an office user has to."""
    if not isinstance(user, StaffMember) or not user.is_active or user.role != Role.OFFICE:
        return False
    if user.second_factor_at is not None:
        return bool(session.get(_FACTOR))
    return bool(settings.OFFICE_SECOND_FACTOR == "optional" and session.get(_BEGAN))


class EndingSessions:
    """Ends a browser session that was idle for too long, or that began too long ago."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if settings.SESSION_COOKIE_NAME in request.COOKIES and request.user.is_authenticated:
            now = timezone.now()
            if _is_over(request.session, now):
                logout(request)
            elif now.timestamp() - request.session[_SEEN] >= SEEN_EACH_S:
                request.session[_SEEN] = now.timestamp()
        return self.get_response(request)


def _is_over(session: SessionBase, now: datetime) -> bool:
    began, seen = session.get(_BEGAN), session.get(_SEEN)
    if began is None or seen is None:
        return True
    most = timedelta(hours=settings.SESSION_MOST_HOURS).total_seconds()
    idle = timedelta(minutes=settings.SESSION_IDLE_MIN).total_seconds()
    return bool(now.timestamp() - began >= most or now.timestamp() - seen >= idle)
