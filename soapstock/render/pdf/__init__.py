"""What labels and papers are both made of. Lengths are millimetres from the top left.

- `fonts`: the embedded typefaces, what a character measures, and which ones are missing.
- `text`: lines of text wrapped into a box, at the largest size that fits.
- `geometry`: rectangles, and boxes tied to the edges of another box.
- `qr`: how large a QR code's modules are, its mask, and drawing it.
- `barcode`: EAN/UPC and Code 128 as widths of bars, with the figures below.
- `vector`: a maker's own SVG drawing.
- `file`: a PDF file that is written whole or not at all, and the sizes of paper.
- `page`: one page to write on: text in boxes, frames, lines, fields, a QR code.
- `page_picture`: the first page of a PDF as a PNG picture.
"""
