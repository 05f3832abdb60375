"""Tagged PDF: says what is content, in which order, and what is only a cutting line.

ISO 32000-1 section 14.7 (structure) and 14.8 (tagged PDF). One paragraph a page holds its marked
content in reading order; cutting lines are artifacts. Marks are kept a page, not a label, so that a
thousand copies stay small.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from weakref import WeakKeyDictionary

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName

_trees: WeakKeyDictionary[Any, Tags] = WeakKeyDictionary()


class Tags:
    """The structure of one PDF in the making.

    Args:
        canvas: its canvas.
    """

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas
        self._marks = 0
        self._root = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        self._whole = PDFDictionary({"Type": PDFName("StructElem"), "S": PDFName("Document")})
        self._parts: list[str] = []
        self._parents: list[Any] = []

    @contextmanager
    def content(self) -> Iterator[None]:
        """What is drawn inside is content, read after what was marked before it."""
        self._canvas._code.append(f"/P <</MCID {self._marks}>> BDC")
        self._marks += 1
        yield
        self._canvas._code.append("EMC")

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """What is drawn inside is no content."""
        self._canvas._code.append("/Artifact BMC")
        yield
        self._canvas._code.append("EMC")

    def part_of(self, page: Any) -> Any:
        """The structure element of a finished page; one without marks is content as a whole."""
        if not self._marks:
            page.stream = f"/P <</MCID 0>> BDC\n{page.stream}\nEMC\n"
            self._marks = 1
        document = self._canvas._doc
        page.__NoDefault__ = [*page.__NoDefault__, "StructParents"]
        page.StructParents = len(self._parts)
        return PDFDictionary(
            {
                "Type": PDFName("StructElem"),
                "S": PDFName("P"),
                "P": document.Reference(self._whole),
                "Pg": document.Reference(page),
                "K": PDFArray(range(self._marks)),
            }
        )

    def add(self, reference: str) -> None:
        """Enter the element of the page just finished, by its reference in the file."""
        self._parents += [len(self._parts), f"[{' '.join([reference] * self._marks)}]"]
        self._parts.append(reference)
        self._marks = 0

    def finish(self) -> None:
        """Put the tree into the document's catalogue."""
        document = self._canvas._doc
        root = document.Reference(self._root)
        self._whole["P"] = root
        self._whole["K"] = PDFArray(self._parts)
        self._root["K"] = document.Reference(self._whole)
        self._root["ParentTree"] = document.Reference(
            PDFDictionary({"Nums": PDFArray(self._parents)})
        )
        self._root["ParentTreeNextKey"] = len(self._parts)
        document.Catalog.StructTreeRoot = root
        document.Catalog.MarkInfo = PDFDictionary({"Marked": "true"})


def tags_of(canvas: Any) -> Tags:
    """The structure of the PDF of that canvas."""
    if canvas not in _trees:
        _trees[canvas] = Tags(canvas)
    return _trees[canvas]
