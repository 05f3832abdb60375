"""A photo made small, and bare of all that the camera wrote beside it: needs pillow.

The picture is drawn anew from its points alone, so that neither the place nor the camera's number
nor a hidden smaller picture stays (they stand in segments APP1 and up, CIPA DC-008 and ITU T.81).
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

from soapstock.errors import BadInput, NotFound
from soapstock.scan.picture import FORMATS, MAX_BYTES, MAX_PIXELS

LONGEST_PX = 1400
MOST_BYTES = 300_000
QUALITIES = (82, 70, 58, 45)  # of the JPEG, tried until it is small enough


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallPhoto:
    """A picture as JPEG, at most MOST_BYTES, and its size in points."""

    jpeg: bytes
    width: int
    height: int


def photo_file(path: Path) -> bytes:
    """What a picture's file holds. Raises NotFound, or BadInput when it is too large."""
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise NotFound(f"no picture at {path}", hint="check the path") from None
    except OSError as err:
        raise BadInput(f"{path} cannot be read: {err.strerror}") from err
    if len(data) > MAX_BYTES:
        raise BadInput(f"{path} is over 50 MB", hint="take a smaller picture")
    return data


def small_photo(data: bytes) -> SmallPhoto:
    """A photo as it is kept: upright, small, and nothing but its points.

    Raises:
        BadInput: not a picture, too large, or pillow is not installed.
    """
    try:
        from PIL import Image, ImageOps
    except ImportError:
        raise BadInput(
            "photos need pillow", hint="install it with: pip install 'soapstock[page]'"
        ) from None
    Image.init()  # else the formats that are seldom asked for are yet to be known
    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as taken:
            if taken.width * taken.height > MAX_PIXELS:
                raise BadInput("the photo has over 60 million pixels", hint="take a smaller one")
            taken.draft("RGB", (LONGEST_PX, LONGEST_PX))
            whole = taken.convert("RGBA") if taken.mode == "P" else taken
            upright = ImageOps.exif_transpose(whole).convert("RGB")
    except BadInput:
        raise
    except Exception as err:  # a decoder that is fed rubbish raises what it likes
        raise BadInput("that is not a photo we can read", hint="PNG or JPEG serve") from err
    upright.thumbnail((LONGEST_PX, LONGEST_PX))
    while True:
        bare = Image.new("RGB", upright.size)
        bare.paste(upright)
        for quality in QUALITIES:
            out = io.BytesIO()
            bare.save(out, "JPEG", quality=quality, optimize=True)
            if out.tell() <= MOST_BYTES:
                return SmallPhoto(jpeg=out.getvalue(), width=bare.width, height=bare.height)
        upright.thumbnail((bare.width * 3 // 4, bare.height * 3 // 4))
