"""Keeping photos: hostile bytes in, a plain JPEG out, and the same photo twice is kept once.

What is sent is decoded and drawn anew on a blank picture, so that nothing but its pixels survives:
no position, no text, no second file behind the picture.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from typing import Any, Final
from uuid import UUID

from django.db import transaction
from PIL import Image, ImageOps, UnidentifiedImageError

from audits.models import Finding, Photo, Visit
from audits.services.field_records import check_may_record, check_zone_of_property
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import StaffMember
from properties.services.rows import add_row

MAX_SENT_BYTES: Final = 10 * 1024 * 1024
MAX_PIXELS: Final = 50_000_000
LONGEST_SIDE_PX: Final = 2000
JPEG_QUALITY: Final = 85
FORMATS: Final = ("JPEG", "PNG", "WEBP")

Image.MAX_IMAGE_PIXELS = MAX_PIXELS


@dataclass(frozen=True)
class Picture:
    """A picture drawn anew."""

    jpeg: bytes
    width_px: int
    height_px: int


def keep_photo(
    photo_id: UUID, sent: bytes, values: Mapping[str, Any], *, actor: StaffMember, now: datetime
) -> tuple[Photo, bool]:
    """Store a photo of a visit under the id that its maker chose; also return whether it is new.

    1. The rules of the visit are checked, then the size of what was sent.
    2. The same bytes under the same id are answered by the row that is there, other bytes refused.
    3. The picture is decoded and drawn anew, outside of the transaction, for that takes long.
    4. The row is written with its event, one photo of a visit at a time.
    """
    visit, taken_at = values["visit"], values.get("taken_at", now)
    check_may_record(visit, actor=actor, happened_at=taken_at, now=now)
    check_zone_of_property(values.get("zone"), visit.property_id)
    _check_finding(values.get("finding"), visit)
    _check_size(sent)
    digest = hashlib.sha256(sent).hexdigest()
    if known := _known(photo_id, digest, visit):
        return known, False
    picture = redrawn(sent)
    row = {**values, "taken_at": taken_at, "id": photo_id, "source_sha256": digest}
    return _add_once(row, picture, actor=actor, now=now)


def _check_finding(finding: Finding | None, visit: Visit) -> None:
    if finding is not None and finding.visit_id != visit.pk:
        raise InvalidInputError(
            "This finding was made at another visit.",
            field="finding", remedy="Name a finding of the visit at which the photo was taken.",
        )  # fmt: skip


def redrawn(sent: bytes) -> Picture:
    """Return what was sent as a JPEG of pixels alone: upright, opaque, 2000 px at most."""
    try:
        picture = _drawn_anew(_decoded(sent))
    except InvalidInputError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_many_pixels() from error
    except UnidentifiedImageError as error:
        raise _refusal(
            "This is not a picture.", "not-a-picture", "Send a JPEG, PNG or WebP picture."
        ) from error
    except Exception as error:  # a decoder of hostile bytes may fail in any way
        raise _refusal(
            "This picture is broken or cut short.", "broken-picture", "Send it again, or take it"
            " again.",
        ) from error  # fmt: skip
    jpeg = BytesIO()
    picture.save(jpeg, "JPEG", quality=JPEG_QUALITY, optimize=True)
    return Picture(jpeg.getvalue(), picture.width, picture.height)


@transaction.atomic
def _add_once(
    row: dict[str, Any], picture: Picture, *, actor: StaffMember, now: datetime
) -> tuple[Photo, bool]:
    visit = Visit.objects.select_for_update().get(pk=row["visit"].pk)
    if known := _known(row["id"], row["source_sha256"], visit):
        return known, False
    drawn = {"jpeg": picture.jpeg, "width_px": picture.width_px, "height_px": picture.height_px}
    return add_row(Photo, {**row, **drawn}, actor=actor, now=now, act="photographed"), True


def _known(photo_id: UUID, digest: str, visit: Visit) -> Photo | None:
    photo = Photo.objects.defer("jpeg").filter(pk=photo_id).first()
    if photo and (photo.source_sha256 != digest or photo.visit_id != visit.pk):
        raise RefusedError(
            f"The id {photo_id} is taken by another photo.",
            code="id-taken", field="id", remedy="Make a new id for every photo.",
        )  # fmt: skip
    return photo


def _check_size(sent: bytes) -> None:
    if not sent:
        raise _refusal("Nothing was sent.", "empty-photo", "Send the picture itself as the body.")
    if len(sent) > MAX_SENT_BYTES:
        raise _refusal(
            f"The photo is larger than {MAX_SENT_BYTES // 1024**2} MB.", "photo-too-large",
            "Send it in a smaller size.",
        )  # fmt: skip


def _decoded(sent: bytes) -> Image.Image:
    """Return the picture upright; its size is read before a single pixel is decoded."""
    picture = Image.open(BytesIO(sent), formats=FORMATS)
    # Pillow only warns up to twice the limit, and a warning can be lost between threads.
    if picture.width * picture.height > MAX_PIXELS:
        raise _too_many_pixels()
    picture.load()
    return ImageOps.exif_transpose(picture)


def _drawn_anew(picture: Image.Image) -> Image.Image:
    layered = picture.convert("RGBA" if picture.has_transparency_data else "RGB")
    layered.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    blank = Image.new("RGB", layered.size, "white")
    blank.paste(layered, mask=layered if layered.mode == "RGBA" else None)
    return blank


def _too_many_pixels() -> InvalidInputError:
    return _refusal(
        f"The picture has more than {MAX_PIXELS // 10**6} million pixels.", "too-many-pixels",
        "Send it in a smaller size.",
    )  # fmt: skip


def _refusal(detail: str, code: str, remedy: str) -> InvalidInputError:
    return InvalidInputError(detail, field="photo", code=code, remedy=remedy)
