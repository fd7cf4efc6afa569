"""Photos: sent as they are, kept drawn anew, and fetched through the scope check alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import IO, Any, ClassVar, Final
from uuid import UUID

from django.http import Http404, HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from audits.api.filters import PhotoFilters
from audits.models import Finding, Photo, Visit
from audits.services.photos import MAX_SENT_BYTES, keep_photo
from properties.http.permissions import Access
from properties.http.serializers import ScopedField, StrictSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF

# What a browser may do with a photo that is opened as a page: nothing.
JPEG_HEADERS: Final = {
    "Cache-Control": "private, no-store",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "X-Content-Type-Options": "nosniff",
}


class PictureParser(BaseParser):
    """Hands over the body as it is, and never more of it than one byte beyond the cap."""

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> dict[str, bytes]:
        return {"photo": stream.read(MAX_SENT_BYTES + 1)}


class JpegParser(PictureParser):
    media_type = "image/jpeg"


class PngParser(PictureParser):
    media_type = "image/png"


class WebpParser(PictureParser):
    media_type = "image/webp"


PICTURE_PARSERS: Final = (JpegParser, PngParser, WebpParser)


class JpegRenderer(BaseRenderer):
    """Lets a caller ask for a JPEG; the view answers with the bytes by itself."""

    media_type = "image/jpeg"
    format = "jpeg"
    charset = None
    render_style = "binary"


class PhotoFactsSerializer(StrictSerializer):
    """What is said of a photo, in the query of its address."""

    visit: ScopedField[Visit] = ScopedField(queryset=Visit.objects.all(), property_path="property")
    zone: ScopedField[Zone] = ScopedField(
        queryset=Zone.objects.all(), property_path="property", required=False
    )
    finding: ScopedField[Finding] = ScopedField(
        queryset=Finding.objects.all(), property_path="visit__property", required=False
    )
    taken_at = serializers.DateTimeField(required=False, help_text="Now when absent.")
    caption = serializers.CharField(required=False, allow_blank=True, max_length=200)


class PhotoSerializer(serializers.ModelSerializer[Photo]):
    class Meta:
        model = Photo
        fields = (
            "id", "visit", "zone", "finding", "taken_at", "caption", "width_px", "height_px",
            "source_sha256", "created_at",
        )  # fmt: skip


class PhotoViewSet(ReadViewSet[Photo]):
    """Photos are facts: sent once (or the same again), never edited."""

    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = Photo.objects.defer("jpeg")
    serializer_class = PhotoSerializer
    parser_classes = PICTURE_PARSERS
    property_path: ClassVar[str | None] = "visit__property"
    filterset_class = PhotoFilters

    @extend_schema(
        parameters=[PhotoFactsSerializer],
        request=dict.fromkeys([each.media_type for each in PICTURE_PARSERS], OpenApiTypes.BINARY),
        responses={200: PhotoSerializer, 201: PhotoSerializer},
    )
    def update(self, request: Request, pk: str) -> Response:
        """Send a picture of at most 10 MB; the same id and bytes again change nothing."""
        photo_id = _uuid_or_404(pk)
        said = {name: text for name, text in request.query_params.items() if name != "units"}
        facts = PhotoFactsSerializer(data=said, context={"request": request})
        facts.is_valid(raise_exception=True)
        body: Any = request.data
        photo, is_new = keep_photo(
            photo_id, body.get("photo", b""), facts.validated_data,
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        code = status.HTTP_201_CREATED if is_new else status.HTTP_200_OK
        return Response(self.get_serializer(photo).data, status=code)

    @extend_schema(responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    @action(detail=True, renderer_classes=[JSONRenderer, JpegRenderer])
    def jpeg(self, request: Request, pk: str) -> HttpResponse:
        """The picture as it is kept."""
        photo = self.get_object()
        headers = JPEG_HEADERS | {"Content-Disposition": f'attachment; filename="{photo.pk}.jpg"'}
        return HttpResponse(bytes(photo.jpeg), content_type="image/jpeg", headers=headers)


def _uuid_or_404(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise Http404 from error
