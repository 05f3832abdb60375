"""A maker's SVG: drawn as vector shapes, and refused when it could do harm or come out wrong."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdfium2
import pypdfium2.raw
import pytest

from soapstock.errors import BadTable
from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.run import LabelJob, write_labels
from soapstock.render.pdf.vector import MAX_BYTES, MAX_DEPTH, MAX_ELEMENTS

MakeWording = Callable[..., LabelWording]
FACE = """
about = "x"
width_mm = 96
height_mm = 58
partial = true
[[blocks]]
draws = "image"
image = "mark.svg"
left_mm = 5
width_mm = 40
top_mm = 5
height_mm = 20
"""
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">'
SQUARE = '<rect x="0" y="0" width="100" height="50"/>'
# A leaf drawn for this test: curves, a transform, a style, a hole by the even-odd rule.
LEAF = f"""<?xml version="1.0" encoding="UTF-8"?>
<!-- made by hand -->
{HEAD}
<title>a leaf &amp; its stalk</title>
<metadata><x:note xmlns:x="urn:x">nothing of this is drawn</x:note></metadata>
<style>.stalk {{ stroke: #000; stroke-width: 6; fill: none }}</style>
<g transform="translate(10 10) scale(0.8)">
<path d="M50 0 C90 30 90 70 50 100 C10 70 10 30 50 0 Z M50 30 L60 50 L50 70 L40 50 Z"
 fill-rule="evenodd"/>
<path class="stalk" d="M50 100 q 0 20 20 20"/>
</g></svg>"""


def _print(tmp_path: Path, wording: LabelWording, copies: int = 1) -> Path:
    """A label with the drawing in tmp_path/mark.svg."""
    (tmp_path / "faces").mkdir(exist_ok=True)
    (tmp_path / "faces" / "own.toml").write_text(FACE, encoding="utf-8")
    folders = [tmp_path, Path(__file__).parents[3] / "labels"]
    path = tmp_path / "l.pdf"
    write_labels(
        path,
        [LabelJob(wording=wording, copies=copies)],
        face=load_face("own", folders),
        sheet=load_sheet("a4-2x4", folders),
        title="x",
    )
    return path


def _dark(path: Path) -> np.ndarray:
    """The drawing's box of 40 x 20 mm on the first label, ten dots to the mm; true where dark."""
    picture = pypdfium2.PdfDocument(path)[0].render(scale=254 / 72).to_numpy()[..., 0]
    left, top = 4.65 + (99.1 - 96) / 2 + 5, 13.1 + (67.7 - 58) / 2 + 5
    x, y = round(left * 10), round(top * 10)
    cut: np.ndarray = picture[y : y + 200, x : x + 400] < 128
    return cut


def test_a_drawing_fills_its_box_in_its_own_proportions(
    wording: MakeWording, tmp_path: Path
) -> None:
    """A square of which the upper half is black, in the middle of a box twice as wide as high."""
    (tmp_path / "mark.svg").write_text(f"{HEAD}{SQUARE}</svg>", encoding="utf-8")
    dark = _dark(_print(tmp_path, wording()))
    wanted = np.zeros_like(dark)
    wanted[:100, 100:300] = True
    assert (dark != wanted).mean() < 0.01


def test_curves_styles_and_holes_are_drawn(wording: MakeWording, tmp_path: Path) -> None:
    """The leaf's body is dark, the hole in it light, the stalk dark."""
    (tmp_path / "mark.svg").write_text(LEAF, encoding="utf-8")
    dark = _dark(_print(tmp_path, wording()))

    def at(x: float, y: float) -> bool:  # in the leaf's own units
        return bool(dark[int(2 * (10 + 0.8 * y)), int(100 + 2 * (10 + 0.8 * x))])

    assert at(50, 15)
    assert not at(50, 50)
    assert at(70, 50)
    assert at(50, 104)
    assert not at(5, 5)


def test_it_stays_a_drawing(wording: MakeWording, tmp_path: Path) -> None:
    """The PDF holds paths and no picture, and no font but our own."""
    (tmp_path / "mark.svg").write_text(LEAF, encoding="utf-8")
    path = _print(tmp_path, wording())
    kinds = {item.type for item in pypdfium2.PdfDocument(path)[0].get_objects()}
    assert pypdfium2.raw.FPDF_PAGEOBJ_PATH in kinds
    assert pypdfium2.raw.FPDF_PAGEOBJ_IMAGE not in kinds
    for name in (b"Helvetica", b"Times", b"Courier"):
        assert b"/BaseFont /" + name not in path.read_bytes()


def test_a_drawing_of_many_copies_is_stored_once(wording: MakeWording, tmp_path: Path) -> None:
    """Eighty copies take little more than eight."""
    (tmp_path / "mark.svg").write_text(LEAF, encoding="utf-8")
    sizes = [_print(tmp_path, wording(), copies).stat().st_size for copies in (8, 80)]
    assert sizes[1] - sizes[0] < 9 * 1000


def test_what_runs_over_the_drawings_page_is_cut_off(wording: MakeWording, tmp_path: Path) -> None:
    """A shape ten times as wide as its page does not paint the rest of the label."""
    wide = '<rect x="-500" y="-500" width="1100" height="1100"/>'
    (tmp_path / "mark.svg").write_text(f"{HEAD}{wide}</svg>", encoding="utf-8")
    dark = _dark(_print(tmp_path, wording()))
    assert dark[:, 102:298].all()
    assert not dark[:, :98].any()
    assert not dark[:, 302:].any()


BOMB = "".join(
    f'<!ENTITY l{n} "{("&l" + str(n - 1) + ";") * 10 if n else "soap"}">' for n in range(10)
)
XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'
REFUSED = {
    "entities": (f"<!DOCTYPE svg [{BOMB}]>{HEAD}<text>&l9;</text></svg>", "DOCTYPE"),
    "outside entity": (
        f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>{HEAD}&x;</svg>',
        "DOCTYPE",
    ),
    "outside dtd": (f'<!DOCTYPE svg SYSTEM "http://x.example/a.dtd">{HEAD}</svg>', "DOCTYPE"),
    "script": (f"{HEAD}<script>alert(1)</script>{SQUARE}</svg>", "<script>"),
    "handler": (f'{HEAD}<rect width="9" height="9" onload="x()"/></svg>', "onload="),
    "root handler": (HEAD.replace(">", ' onload="x()">') + f"{SQUARE}</svg>", "onload="),
    "picture": (f'{HEAD}<image {XLINK} xlink:href="/etc/passwd"/></svg>', "<image>"),
    "link": (f'{HEAD}<a href="http://x.example">{SQUARE}</a></svg>', "<a>"),
    "clone": (f'{HEAD}<g id="a">{SQUARE}</g><use {XLINK} xlink:href="#a"/></svg>', "<use>"),
    "href": (f'{HEAD}<rect width="9" height="9" href="x.svg"/></svg>', "href="),
    "import": (f"{HEAD}<style>@import 'http://x.example/a.css';</style>{SQUARE}</svg>", "@import"),
    "style url": (f"{HEAD}<style>rect {{ fill: url(x.svg#a) }}</style>{SQUARE}</svg>", "url"),
    "fill url": (f'{HEAD}<rect width="9" height="9" fill="URL(x#a)"/></svg>', "url"),
    "escaped url": (f'{HEAD}<rect width="9" height="9" style="fill:u\\72l(x)"/></svg>', "url"),
    "gradient": (f"{HEAD}<defs><linearGradient/></defs>{SQUARE}</svg>", "linearGradient"),
    "words": (f"{HEAD}<text>Soap</text></svg>", "<text>"),
    "foreign": (f"{HEAD}<foreignObject>{SQUARE}</foreignObject></svg>", "foreignObject"),
    "svg in svg": (f"{HEAD}{HEAD}{SQUARE}</svg></svg>", "<svg>"),
    "no shapes": (f"{HEAD}<g/></svg>", "draws nothing"),
    "no svg": ("<html/>", "is no SVG"),
    "no namespace": (f'<svg viewBox="0 0 9 9">{SQUARE}</svg>', "is no SVG"),
    "not xml": ("leaf", "not well-formed"),
    "empty": ("", "not well-formed"),
    "cut off": (HEAD + SQUARE, "not well-formed"),
    "no size": (f'<svg xmlns="http://www.w3.org/2000/svg">{SQUARE}</svg>', "its size"),
    "huge": (HEAD.replace("100 100", "1e9 1e9") + f"{SQUARE}</svg>", "units"),
    "nan": (HEAD.replace("100 100", "nan nan") + f"{SQUARE}</svg>", "units"),
    "thin": (HEAD.replace("100 100", "1000 1") + f"{SQUARE}</svg>", "units"),
    "flat": (HEAD.replace("100 100", "0 100") + f"{SQUARE}</svg>", "units"),
    "many": (HEAD + "<g/>" * MAX_ELEMENTS + f"{SQUARE}</svg>", "elements"),
    "deep": (HEAD + "<g>" * MAX_DEPTH + SQUARE + "</g>" * MAX_DEPTH + "</svg>", "levels"),
    "big": (f"{HEAD}<!--{'x' * MAX_BYTES}-->{SQUARE}</svg>", "is over 500 KB"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_may_not_stand_in_a_drawing_is_refused(
    case: str, wording: MakeWording, tmp_path: Path
) -> None:
    """One line with the file's name, the fault and a cure; nothing is written."""
    text, fault = REFUSED[case]
    (tmp_path / "mark.svg").write_text(text, encoding="utf-8")
    with pytest.raises(BadTable, match=r"mark\.svg") as told:
        _print(tmp_path, wording())
    assert fault in told.value.message
    assert told.value.hint
    assert "\n" not in told.value.message
    assert not (tmp_path / "l.pdf").exists()


@pytest.mark.parametrize("number", ["1e400", "nan", "x"])
def test_nonsense_in_a_shape_does_not_end_in_a_traceback(
    number: str, wording: MakeWording, tmp_path: Path
) -> None:
    """It is refused, or left out by the library; a PDF that is written can be read."""
    shape = f'<path d="M0 0 L {number} 5 L 5 5 Z"/>{SQUARE}'
    (tmp_path / "mark.svg").write_text(f"{HEAD}{shape}</svg>", encoding="utf-8")
    with contextlib.suppress(BadTable):
        assert _dark(_print(tmp_path, wording())).any()


def test_a_drawing_that_is_not_there_is_said(wording: MakeWording, tmp_path: Path) -> None:
    """A mistyped name."""
    with pytest.raises(BadTable, match=r"there is no picture .*mark\.svg"):
        _print(tmp_path, wording())


def test_a_link_out_of_the_label_folder_is_refused(wording: MakeWording, tmp_path: Path) -> None:
    """The drawing may not be a symbolic link to a file elsewhere."""
    shop, elsewhere = tmp_path / "shop", tmp_path / "elsewhere.svg"
    shop.mkdir()
    elsewhere.write_text(f"{HEAD}{SQUARE}</svg>", encoding="utf-8")
    (shop / "mark.svg").symlink_to(elsewhere)
    with pytest.raises(BadTable, match="outside the label folder"):
        _print(shop, wording())
