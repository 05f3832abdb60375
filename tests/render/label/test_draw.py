"""What labels share is stored once, and looks the same."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from soapstock.errors import BadTable
from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.run import LabelJob, write_labels

MakeWording = Callable[..., LabelWording]
PICTURE = """
about = "x"
width_mm = 96
height_mm = 58
partial = true
[[blocks]]
draws = "image"
image = "picture.png"
left_mm = 5
width_mm = 20
top_mm = 5
height_mm = 20
"""


def _print(path: Path, jobs: list[LabelJob], folders: list[Path], face: str = "panel") -> None:
    sheet = load_sheet("a4-2x4", folders)
    write_labels(path, jobs, face=load_face(face, folders), sheet=sheet, title="x")


def _picture(path: Path) -> np.ndarray:
    return np.asarray(pypdfium2.PdfDocument(path)[0].render(scale=2).to_numpy())


def test_a_label_looks_the_same_printed_once_and_as_one_of_many(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Stored as a form or drawn outright, the dots are the same, but for a rounding of a grey."""
    once, many = tmp_path / "a.pdf", tmp_path / "b.pdf"
    _print(once, [LabelJob(wording=wording(), copies=1) for _ in range(4)], folders)
    _print(many, [LabelJob(wording=wording(), copies=4)], folders)
    one, other = _picture(once).astype(int), _picture(many).astype(int)
    assert np.abs(one - other).max() <= 1


def test_lots_that_differ_share_what_is_common(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Forty lots take far less than forty times one lot's page."""
    path = tmp_path / "l.pdf"
    sizes = []
    for lots in (1, 40):
        jobs = [LabelJob(wording=wording(f"DRF{n:05d}AK"), copies=1) for n in range(lots)]
        _print(path, jobs, folders)
        sizes.append(path.stat().st_size)
    assert (sizes[1] - sizes[0]) / 39 < 1500


@pytest.mark.parametrize("place", ["picture.png", "faces/picture.png"])
def test_a_makers_picture_is_drawn(
    place: str, wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """A black square in the file, in the label folder or beside the face, is one on the label."""
    (tmp_path / "faces").mkdir()
    (tmp_path / "faces" / "pic.toml").write_text(PICTURE, encoding="utf-8")
    Image.new("L", (40, 40), 0).save(tmp_path / place)
    _print(tmp_path / "l.pdf", [LabelJob(wording=wording(), copies=1)], [tmp_path, *folders], "pic")
    x, y = (4.65 + (99.1 - 96) / 2 + 15, 13.1 + (67.7 - 58) / 2 + 15)
    dot = _picture(tmp_path / "l.pdf")[int(y / 25.4 * 144), int(x / 25.4 * 144)]
    assert dot.max() < 40


def _noise(kind: str) -> bytes:
    """A picture of random dots, which no format packs small."""
    out = BytesIO()
    Image.effect_noise((200, 200), 90).save(out, kind)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"not a picture", "cannot be used"),
        (b"", "cannot be used"),
        (None, "there is no picture"),
        (_noise("PNG")[:9_000], "is cut short"),
        (_noise("PNG")[:20], "is cut short"),
        (_noise("JPEG")[:5_000], "is cut short"),
    ],
)
def test_a_picture_that_cannot_be_read_is_said(
    content: bytes | None, said: str, wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Broken or missing: one clear line with the file's name, and nothing written."""
    (tmp_path / "faces").mkdir()
    (tmp_path / "faces" / "pic.toml").write_text(PICTURE, encoding="utf-8")
    if content is not None:
        (tmp_path / "picture.png").write_bytes(content)
    out = tmp_path / "l.pdf"
    with pytest.raises(BadTable, match=said) as caught:
        _print(out, [LabelJob(wording=wording(), copies=1)], [tmp_path, *folders], "pic")
    assert "picture.png" in caught.value.message
    assert "ImageReader" not in caught.value.message
    assert not out.exists()


def test_an_absurdly_large_picture_is_refused(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """A small file may hold a picture that would fill the memory."""
    (tmp_path / "faces").mkdir()
    (tmp_path / "faces" / "pic.toml").write_text(PICTURE, encoding="utf-8")
    Image.new("1", (5000, 4001)).save(tmp_path / "picture.png")
    with pytest.raises(BadTable, match=r"picture\.png has 5000 x 4001 dots"):
        _print(
            tmp_path / "l.pdf", [LabelJob(wording=wording(), copies=1)], [tmp_path, *folders], "pic"
        )


def test_a_picture_outside_the_label_folder_is_refused(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """A design from elsewhere cannot pull in other files."""
    (tmp_path / "faces").mkdir()
    (tmp_path / "faces" / "pic.toml").write_text(
        PICTURE.replace("picture.png", "../picture.png"), encoding="utf-8"
    )
    with pytest.raises(BadTable, match="outside the label folder"):
        _print(
            tmp_path / "l.pdf", [LabelJob(wording=wording(), copies=1)], [tmp_path, *folders], "pic"
        )


def test_a_makers_own_font_is_embedded(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """A TrueType file named in the face is used and subset."""
    from soapstock.render.pdf.fonts import _folder

    (tmp_path / "faces").mkdir()
    source = (folders[0] / "faces" / "panel.toml").read_text(encoding="utf-8")
    own = 'semibold_font = "own.ttf"\n' + source
    (tmp_path / "faces" / "own.toml").write_text(own, encoding="utf-8")
    (tmp_path / "own.ttf").write_bytes(
        (_folder("font_source_sans_pro") / "SourceSansPro-Black.ttf").read_bytes()
    )
    _print(tmp_path / "l.pdf", [LabelJob(wording=wording(), copies=1)], [tmp_path, *folders], "own")
    assert b"+SourceSansPro-Black" in (tmp_path / "l.pdf").read_bytes()


def test_a_font_that_is_none_is_said(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """One clear line with the file's name."""
    (tmp_path / "faces").mkdir()
    source = (folders[0] / "faces" / "panel.toml").read_text(encoding="utf-8")
    (tmp_path / "faces" / "own.toml").write_text(
        'regular_font = "own.ttf"\n' + source, encoding="utf-8"
    )
    (tmp_path / "own.ttf").write_bytes(b"no font")
    with pytest.raises(BadTable, match=r"own\.ttf cannot be used"):
        _print(
            tmp_path / "l.pdf", [LabelJob(wording=wording(), copies=1)], [tmp_path, *folders], "own"
        )
