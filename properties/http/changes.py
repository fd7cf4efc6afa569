"""How rows are changed, retired and brought back over the API, by declaration.

A viewset names its service; that a change says in `If-Match` which revision was read, and that it
is refused when that is no longer so, is here, once.
"""

from __future__ import annotations

from typing import Any, ClassVar, Protocol, TypeVar

from django.db.models import Model
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.preconditions import IF_MATCH, read_revision
from properties.http.views import UNITS_PARAMETER, RowViewSet, ScopedViewSet, staff_of
from properties.services import retirement as services
from properties.services.rows import change_held

AnyModel = TypeVar("AnyModel", bound=Model)
AnyRow = TypeVar("AnyRow", bound=Model)


class ChangeService(Protocol):
    """Changes a row at the revision that was read: `change(row, changes, ...)`."""

    def __call__(
        self, row: Any, changes: Any, /, *, read_revision: int | None, actor: Any, now: Any
    ) -> Any: ...


class ChangesRows(ScopedViewSet[AnyModel]):
    """PATCH: what is sent is changed, the rest stays; what is the same already is no change."""

    change_service: ClassVar[ChangeService] = staticmethod(change_held)

    @extend_schema(parameters=[IF_MATCH, UNITS_PARAMETER])
    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Change what is sent; If-Match says what was read."""
        row: Any = self.get_object()
        revision = read_revision(request, row.revision)
        sent = self.get_serializer(row, data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        changed = self.change(row, dict(sent.validated_data), revision)
        return self.answer_with(changed)

    def change(self, row: Any, changes: dict[str, Any], revision: int) -> Any:
        """Call the service; a viewset whose service takes more overrides this."""
        service = type(self).change_service
        actor, now = staff_of(self.request), timezone.now()
        return service(row, changes, read_revision=revision, actor=actor, now=now)

    def answer_with(self, row: Any) -> Response:
        """Answer with a row as it was read anew, with all that the answer shows of other rows."""
        fresh = self.get_queryset().get(pk=row.pk)
        return Response(self.get_serializer(fresh).data)


class RetiresRows(ChangesRows[AnyModel]):
    """POST retire and POST bring-back: a soft end.

    Where the service of changes has rules of its own for it, `retires_by_change` leaves it to that.
    """

    retires_by_change: ClassVar[bool] = False

    @extend_schema(request=None, parameters=[IF_MATCH, UNITS_PARAMETER])
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take out of use: it leaves the lists and takes nothing new."""
        return self._end(retired=True)

    @extend_schema(request=None, parameters=[IF_MATCH, UNITS_PARAMETER])
    @action(detail=True, methods=["post"], url_path="bring-back")
    def bring_back(self, request: Request, pk: str) -> Response:
        """Take into use again."""
        return self._end(retired=False)

    def _end(self, *, retired: bool) -> Response:
        row: Any = self.get_object()
        revision = read_revision(self.request, row.revision)
        if self.retires_by_change:
            mark = services.mark_of(row, retired=retired, now=timezone.now())
            return self.answer_with(self.change(row, mark, revision))
        service = services.retire if retired else services.bring_back
        actor, now = staff_of(self.request), timezone.now()
        return self.answer_with(service(row, read_revision=revision, actor=actor, now=now))


class ChangedRowViewSet(ChangesRows[AnyRow], RowViewSet[AnyRow]):
    """List, detail, creation and change."""


class KeptRowViewSet(RetiresRows[AnyRow], RowViewSet[AnyRow]):
    """List, detail, creation, change, retirement and return."""
