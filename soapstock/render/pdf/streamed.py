"""A PDF written to its file as its pages are finished, so that a long run needs no more memory.

ReportLab keeps every object of a document until the end and joins them there. Here a page, its
content and the forms drawn on it go into the file at once and are forgotten but for their place in
it: some bytes a page for the cross-reference table, the page tree and the tags (ISO 32000-1 section
7.5: objects may stand in any order, the table at the end says where).
"""

from __future__ import annotations

from array import array
from typing import IO, Any

from reportlab.pdfbase.pdfdoc import (
    PDFFile,
    PDFFormXObject,
    PDFIndirectObject,
    PDFObject,
    PDFTrailer,
)

_VERSION = (1, 4)  # tagged PDF and the document's language came with PDF 1.4
_WRITTEN = PDFObject()  # stands for a form that is in the file and may still be drawn


class StreamedPdf:
    """Takes over from ReportLab's document what its `save` does at the end.

    Args:
        canvas: whose document is written.
        file: open for writing, binary.
    """

    def __init__(self, canvas: Any, file: IO[bytes]) -> None:
        self._canvas = canvas
        self._document = canvas._doc
        self._document._pdfVersion = max(self._document._pdfVersion, _VERSION)
        self._file = file
        self._at = 0
        self._offsets = array("Q", [0])  # by object number; 0 = not yet written
        self._put(PDFFile(self._document._pdfVersion).format(self._document))

    def _put(self, data: bytes) -> None:
        self._file.write(data)
        self._at += len(data)

    def _write(self, name: str) -> int:
        """Write the object of that name; its number. The name can still be referred to."""
        document = self._document
        number = int(document.idToObjectNumberAndVersion[name][0])
        data = PDFIndirectObject(name, document.idToObject[name]).format(document)
        # Formatting may have numbered objects that this one refers to.
        self._offsets.extend([0] * (document.objectcounter + 1 - len(self._offsets)))
        self._offsets[number] = self._at
        self._put(data)
        del document.numberToId[number]
        document.idToObject[name] = _WRITTEN
        return number

    def _forget(self, name: str) -> None:
        del self._document.idToObject[name], self._document.idToObjectNumberAndVersion[name]

    def end_page(self, page: Any, part: Any) -> tuple[str, str]:
        """Write a finished page with what is drawn on it.

        Args:
            page: ReportLab's page, in the document's page tree.
            part: its element of the document's structure, which refers to the page.

        Returns:
            References to the page and to the part, to be put where they are needed.
        """
        document = self._document
        drawn = list(document.idToObject.items())
        for name in [name for name, known in drawn if isinstance(known, PDFFormXObject)]:
            self._write(name)
        names = [document.Reference(each).name for each in (page.Contents, page, part)]
        _, of_page, of_part = (f"{self._write(name)} 0 R" for name in names)
        for name in names:
            self._forget(name)
        return of_page, of_part

    def finish(self) -> None:
        """Write all that is left, the cross-reference table and the trailer."""
        document = self._document
        for font in document.delayedFonts:
            font.addObjects(document)
        document.info.invariant = document.invariant
        document.info.digest(document.signature)
        root, info = document.Reference(document.Catalog), document.Reference(document.info)
        document.Outlines.prepare(document, self._canvas)
        if document.Outlines.ready < 0:
            document.Catalog.Outlines = None
        document.encrypt.prepare(document)
        number = 0
        while number < document.objectcounter:
            number += 1
            if number in document.numberToId:
                self._write(document.numberToId[number])
        start = self._at
        self._put(f"xref\n0 {len(self._offsets)}\n0000000000 65535 f \n".encode())
        for offset in self._offsets[1:]:
            self._put(f"{offset:010d} 00000 n \n".encode())
        trailer = PDFTrailer(
            startxref=start, Size=len(self._offsets), Root=root, Info=info, ID=document.ID()
        )
        self._put(trailer.format(document))
