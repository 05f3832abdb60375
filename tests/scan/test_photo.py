"""A photo is kept small, upright, and without a trace of where and with what it was taken.

The segments of a JPEG are read here by hand after ITU-T T.81 (1992), annex B: place, camera and
comments stand in APP1 to APP15 and COM (Exif: CIPA DC-008-2019, section 4.5.4).
"""

from __future__ import annotations

import io

import pytest
from PIL import Image

from soapstock.errors import BadInput
from soapstock.scan.photo import LONGEST_PX, MOST_BYTES, small_photo

ORIENTATION, GPS, MAKE = 0x0112, 0x8825, 0x010F  # tags of Exif (CIPA DC-008-2019, 4.6)


def taken(width: int = 3000, height: int = 2000, kind: str = "JPEG") -> bytes:
    """A noisy picture, turned by its Exif, with a place, a camera and a comment."""
    picture = Image.effect_noise((width, height), 90).convert("RGB")
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKE] = 6, "InventedCamera"
    exif.get_ifd(GPS).update({1: "N", 2: (53.0, 20.0, 9.5), 3: "W", 4: (6.0, 15.0, 3.0)})
    out = io.BytesIO()
    picture.save(out, kind, exif=exif, comment=b"InventedComment")
    return out.getvalue()


def segments(jpeg: bytes) -> list[int]:
    """The markers of a JPEG up to its points."""
    at, found = 2, []
    while jpeg[at] == 0xFF:
        marker, length = jpeg[at + 1], int.from_bytes(jpeg[at + 2 : at + 4])
        found.append(marker)
        if marker == 0xDA:
            return found
        at += 2 + length
    raise AssertionError(f"no marker at {at}")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_nothing_but_points_is_kept(kind: str) -> None:
    """Upright, at most so large, and no segment that holds words, places or a second picture."""
    before = taken(kind=kind)
    assert b"InventedCamera" in before
    small = small_photo(before)
    assert len(small.jpeg) <= MOST_BYTES
    assert (small.width, small.height) < (small.height, LONGEST_PX + 1), "turned upright"
    assert not set(segments(small.jpeg)) & {*range(0xE1, 0xF0), 0xFE}
    for word in (b"Invented", b"Exif", b"GPS", b"http"):
        assert word not in small.jpeg
    again = Image.open(io.BytesIO(small.jpeg))
    assert again.size == (small.width, small.height)
    assert not again.getexif()


@pytest.mark.parametrize("data", [b"", b"GIF89a?", b"\xff\xd8\xff", b"<svg/>", b"%PDF-1.4"])
def test_what_is_no_photo_is_refused(data: bytes) -> None:
    """In a line."""
    with pytest.raises(BadInput, match="not a photo"):
        small_photo(data)


def test_too_many_points_are_refused() -> None:
    """Before they are unpacked."""
    out = io.BytesIO()
    Image.new("1", (10_000, 6_001)).save(out, "PNG")
    with pytest.raises(BadInput, match="60 million"):
        small_photo(out.getvalue())
