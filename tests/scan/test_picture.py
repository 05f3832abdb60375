"""Reading a code from a picture."""

from __future__ import annotations

from pathlib import Path

import pytest
import qrcode

from soapstock.errors import BadInput, NotFound
from soapstock.scan.picture import codes_in_picture


def test_a_qr_code_is_read(tmp_path: Path) -> None:
    """The text of a QR code in a PNG comes back."""
    path = tmp_path / "code.png"
    qrcode.make("https://soap.example/lot/DRF26241AZ").save(path)
    assert codes_in_picture(path) == ["https://soap.example/lot/DRF26241AZ"]


def test_a_palette_with_clear_colours_is_read_without_a_word(tmp_path: Path) -> None:
    """As screens save pictures; what pillow would warn of is an error in these tests."""
    path = tmp_path / "code.png"
    made = qrcode.make("DRF26241AZ").convert("P")
    made.save(path, transparency=b"\xff\xfe")
    assert codes_in_picture(path) == ["DRF26241AZ"]


def test_a_picture_without_a_code_says_so(tmp_path: Path) -> None:
    """No code is NotFound, with a hint."""
    from PIL import Image

    path = tmp_path / "blank.png"
    Image.new("L", (200, 200), 255).save(path)
    with pytest.raises(NotFound, match="no code"):
        codes_in_picture(path)


def test_a_file_that_is_no_picture_is_refused(tmp_path: Path) -> None:
    """Text with a picture's name is refused."""
    path = tmp_path / "x.png"
    path.write_text("not a picture", encoding="utf-8")
    with pytest.raises(BadInput, match="not a picture"):
        codes_in_picture(path)


def test_an_absurd_picture_is_refused(tmp_path: Path) -> None:
    """A picture of over 60 million pixels is refused before it is unpacked."""
    from PIL import Image

    path = tmp_path / "huge.png"
    Image.new("1", (9000, 9000), 1).save(path)
    with pytest.raises(BadInput, match="60 million"):
        codes_in_picture(path)


def test_a_png_with_a_broken_chunk_is_refused(tmp_path: Path) -> None:
    """Pillow calls that a SyntaxError (found by fuzzing)."""
    path = tmp_path / "code.png"
    qrcode.make("DRF26241AZ").save(path)
    data = bytearray(path.read_bytes())
    at = data.index(b"IDAT") + 4
    length = int.from_bytes(data[at - 8 : at - 4], "big")
    data[at - 8 : at - 4] = (length // 2).to_bytes(4, "big")
    path.write_bytes(data)
    with pytest.raises(BadInput, match="not a picture"):
        codes_in_picture(path)


def test_a_format_that_runs_other_programs_is_not_opened(tmp_path: Path) -> None:
    """Encapsulated PostScript would be handed to an interpreter."""
    path = tmp_path / "code.png"
    path.write_bytes(b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 100 100\n%%EndComments\n")
    with pytest.raises(BadInput, match="not a picture"):
        codes_in_picture(path)
