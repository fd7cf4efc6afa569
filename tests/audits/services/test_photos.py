"""Hostile bytes in, a plain JPEG out."""

from __future__ import annotations

import io
import warnings

import pytest
from PIL import Image

from audits.services.photos import LONGEST_SIDE_PX, redrawn
from properties.domain.errors import InvalidInputError
from tests.audits import pictures


def is_near(colour, wanted):
    return all(abs(one - other) < 40 for one, other in zip(colour, wanted, strict=True))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_each_kind_of_picture_becomes_a_jpeg_of_the_same_look(kind):
    picture = redrawn(pictures.encoded(pictures.red_above_blue(), kind))

    drawn = pictures.opened(picture.jpeg)
    assert (drawn.format, drawn.mode, drawn.size) == ("JPEG", "RGB", (40, 60))
    assert (picture.width_px, picture.height_px) == (40, 60)
    assert is_near(drawn.getpixel((20, 10)), pictures.RED)
    assert is_near(drawn.getpixel((20, 50)), pictures.BLUE)


def test_the_picture_stands_upright_and_tells_nothing_of_its_place():
    sent = pictures.telling_jpeg()
    assert pictures.opened(sent).getexif().get_ifd(pictures.GPS)

    picture = redrawn(sent)

    drawn = pictures.opened(picture.jpeg)
    assert drawn.size == (60, 40)
    assert is_near(drawn.getpixel((50, 20)), pictures.RED)  # what was above is now at the right
    assert is_near(drawn.getpixel((10, 20)), pictures.BLUE)
    assert dict(drawn.getexif()) == {}
    assert "comment" not in drawn.info
    for word in (b"Exif", b"Pocket camera", b"garden gate"):
        assert word in sent
        assert word not in picture.jpeg


def test_what_hangs_behind_a_picture_is_cut_off():
    sent = pictures.encoded(pictures.red_above_blue()) + b"<script>alert(1)</script>"

    assert b"script" not in redrawn(sent).jpeg


def test_a_large_picture_keeps_its_shape_and_loses_its_size():
    sent = pictures.encoded(pictures.red_above_blue(4000, 1000))

    picture = redrawn(sent)

    assert (picture.width_px, picture.height_px) == (LONGEST_SIDE_PX, 500)
    assert pictures.opened(picture.jpeg).size == (2000, 500)


def test_what_is_transparent_becomes_white():
    layered = Image.new("RGBA", (20, 20), (0, 0, 0, 0))
    paletted = Image.new("P", (20, 20), 0)

    clear = redrawn(pictures.encoded(layered, "PNG"))
    indexed = redrawn(pictures.encoded(paletted, "PNG", transparency=0))

    for picture in (clear, indexed):
        assert is_near(pictures.opened(picture.jpeg).getpixel((10, 10)), (255, 255, 255))


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "CMYK", "I;16"])
def test_pictures_of_every_depth_are_taken(mode):
    kind = "JPEG" if mode == "CMYK" else "PNG"

    picture = redrawn(pictures.encoded(Image.new(mode, (20, 10)), kind))

    assert pictures.opened(picture.jpeg).size == (20, 10)


def gif():
    return pictures.encoded(pictures.red_above_blue(), "GIF")


def cut(kind):
    noise = Image.effect_noise((200, 200), 90).convert("RGB")
    sent = pictures.encoded(noise, kind)
    return sent[: len(sent) // 2]


REFUSED = {
    "text": (lambda: b"not a picture at all", "not-a-picture"),
    "an SVG": (lambda: pictures.SVG, "not-a-picture"),
    "a picture of a kind that is not taken": (gif, "not-a-picture"),
    "a PDF": (lambda: b"%PDF-1.7\n%%EOF", "not-a-picture"),
    "the first bytes of a JPEG": (lambda: b"\xff\xd8\xff\xe0", "not-a-picture"),
    "half of a JPEG": (lambda: cut("JPEG"), "broken-picture"),
    "half of a PNG": (lambda: cut("PNG"), "broken-picture"),
    "half of a WebP": (lambda: cut("WEBP"), "broken-picture"),
    "a picture bomb": (lambda: pictures.bomb(8000, 6251), "too-many-pixels"),
    "a greater picture bomb": (lambda: pictures.bomb(20_000, 10_000), "too-many-pixels"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_sound_picture_is_refused_by_its_name_with_a_cure(name):
    make, code = REFUSED[name]

    with pytest.raises(InvalidInputError) as refusal:
        redrawn(make())

    assert (refusal.value.code, refusal.value.field) == (code, "photo")
    assert refusal.value.remedy.startswith(("Send", "Take"))


def test_a_bomb_is_refused_even_where_the_warning_of_it_is_lost():
    sent = pictures.bomb(8000, 6251)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with pytest.raises(InvalidInputError, match="50 million pixels"):
            redrawn(sent)


def test_fifty_million_pixels_are_taken():
    assert redrawn(pictures.bomb(8000, 6250)).width_px == LONGEST_SIDE_PX


def test_what_is_drawn_anew_can_be_drawn_again():
    once = redrawn(pictures.telling_jpeg())

    again = redrawn(once.jpeg)

    assert (again.width_px, again.height_px) == (once.width_px, once.height_px)
    assert io.BytesIO(again.jpeg).read(2) == b"\xff\xd8"
