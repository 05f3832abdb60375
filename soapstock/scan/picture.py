"""Reading a code from a picture: needs the `camera` extra (zxing-cpp and pillow)."""

from __future__ import annotations

from pathlib import Path

from soapstock.errors import BadInput, NotFound, SoapstockError

MAX_PIXELS = 60_000_000
MAX_BYTES = 50_000_000
FORMATS = ("PNG", "JPEG", "WEBP", "GIF", "BMP", "TIFF")  # what cameras and screens write


def codes_in_picture(path: Path) -> list[str]:
    """The texts of all QR codes and barcodes found in a picture file.

    Raises:
        NotFound: no such file, or no code in it.
        BadInput: not a picture, too large, or the `camera` extra is not installed.
    """
    try:
        import zxingcpp
        from PIL import Image
    except ImportError:
        raise BadInput(
            "reading a picture needs the camera extra",
            hint="install it with: pip install 'soapstock[camera]'",
        ) from None
    if not path.is_file():
        raise NotFound(f"no picture at {path}", hint="check the path")
    if path.stat().st_size > MAX_BYTES:
        raise BadInput(f"{path} is over 50 MB", hint="take a smaller picture")
    Image.init()  # else the formats that are seldom asked for are yet to be known
    try:
        with Image.open(path, formats=FORMATS) as picture:
            if picture.width * picture.height > MAX_PIXELS:
                raise BadInput(f"{path} has over 60 million pixels", hint="take a smaller picture")
            whole = picture.convert("RGBA") if picture.mode == "P" else picture
            grey = whole.convert("L")
    except SoapstockError:
        raise
    except Exception as err:  # a decoder that is fed rubbish raises what it likes
        raise BadInput(f"{path} is not a picture we can read", hint="PNG or JPEG serve") from err
    texts = [found.text for found in zxingcpp.read_barcodes(grey) if found.text]
    if not texts:
        raise NotFound(
            f"no code found in {path}", hint="closer, level and in good light; or type the code"
        )
    return texts
