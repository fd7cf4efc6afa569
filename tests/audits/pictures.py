"""Pictures to send, good and hostile."""

from __future__ import annotations

import io
from typing import Any

from PIL import Image

RED, BLUE = (220, 30, 30), (30, 30, 220)
ORIENTATION, GPS, MODEL = 0x0112, 0x8825, 0x0110
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


def encoded(picture: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


def red_above_blue(width: int = 40, height: int = 60) -> Image.Image:
    picture = Image.new("RGB", (width, height), BLUE)
    picture.paste(RED, (0, 0, width, height // 2))
    return picture


def telling_jpeg() -> bytes:
    """A photo taken with the phone on its side; it tells where and with what."""
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # to be turned a quarter clockwise
    exif[MODEL] = "Pocket camera"
    exif[GPS] = {1: "N", 2: (40.0, 25.0, 12.0), 3: "W", 4: (101.0, 42.0, 0.0)}
    return encoded(red_above_blue(), exif=exif, comment=b"at the garden gate", quality=95)


def bomb(width: int, height: int) -> bytes:
    """A few kilobytes that unpack to so many pixels."""
    return encoded(Image.new("1", (width, height)), "PNG")


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))
