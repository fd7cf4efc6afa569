"""`Idempotency-Key`: the same POST again gets the same answer, and is not done again.

A view that makes work asks for the key (`needs_key`); any other POST honours it. Nothing is kept of
a refusal: sent again it is judged again.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from typing import Any, ClassVar, Final

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter
from rest_framework import status
from rest_framework.exceptions import APIException
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.permissions import Access
from properties.models import StaffMember
from properties.models.idempotency import LONGEST_KEY
from properties.services.idempotency import Answer, Asked, answer_once, digest_of

HEADER: Final = "Idempotency-Key"


KEY: Final = OpenApiParameter(
    HEADER, str, OpenApiParameter.HEADER, required=True,
    description="Your own name of this request, such as a UUID. Sent again within 30 days with "
    "the same body, the first answer comes back and nothing is done twice.",
)  # fmt: skip


class KeyMissingError(APIException):
    status_code = status.HTTP_400_BAD_REQUEST
    default_code = "idempotency-key-missing"
    default_detail = "Send an Idempotency-Key, such as a new UUID: this makes work."


class KeyInvalidError(APIException):
    status_code = status.HTTP_400_BAD_REQUEST
    default_code = "idempotency-key-invalid"
    default_detail = f"An Idempotency-Key has 1 to {LONGEST_KEY} printable ASCII characters."


class KeyUselessError(APIException):
    status_code = status.HTTP_400_BAD_REQUEST
    default_code = "idempotency-key-useless"
    default_detail = "No Idempotency-Key is kept here. Leave it out."


class KeyedPosts(APIView):
    """Answers a POST that comes again under its key as it was answered first."""

    access: ClassVar[Access]
    needs_key: ClassVar[bool] = False

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method == "POST" and (key := self._key_of(request)):
            post: Callable[..., Response] = getattr(self, "post", self.http_method_not_allowed)
            self.__dict__["post"] = partial(self._post_once, post, key)

    def asks_for_key(self) -> bool:
        """Return whether this POST must have a key."""
        return self.needs_key

    def takes_key(self) -> bool:
        """Return whether the answer may be kept: no secret and no file is."""
        return True

    def kept_of(self, answer: Response) -> Any:
        """Return what is kept of an answer."""
        return answer.data

    def told_again(self, body: Any) -> Any:
        """Return what is answered again."""
        return body

    def _key_of(self, request: Request) -> str | None:
        key = request.headers.get(HEADER)
        if key is None:
            if self.asks_for_key():
                raise KeyMissingError
            return None
        if not self.takes_key():
            raise KeyUselessError
        key = key.strip().strip('"')
        if not 0 < len(key) <= LONGEST_KEY or not (key.isascii() and key.isprintable()):
            raise KeyInvalidError
        return key

    def _post_once(
        self, post: Callable[..., Response], key: str, request: Request, *args: Any, **kwargs: Any
    ) -> Response:
        assert isinstance(request.user, StaffMember)
        said = digest_of(request.method, request.get_full_path(), request.data)
        first: list[Response] = []

        def act() -> Answer:
            first.append(post(request, *args, **kwargs))
            return Answer(first[0].status_code, _plain(self.kept_of(first[0])))

        answer, is_known = answer_once(Asked(request.user, key, said), act, now=timezone.now())
        if is_known:
            return Response(self.told_again(answer.body), status=answer.status)
        return first[0]


def _plain(content: Any) -> Any:
    """Return content as JSON has it."""
    return json.loads(JSONRenderer().render(content) or b"null")
