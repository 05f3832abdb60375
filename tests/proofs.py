"""Remakes the README's pictures from the demo's prints: `python -m tests.proofs`.

The batch sheet, the rack card, the labels on every face (as `soapstock design proofs` makes them,
quiet), and all faces on one page, tinted.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pypdfium2

from soapstock.desk.desk import Desk
from soapstock.papers.proofs import OVERVIEW, write_proofs
from soapstock.upkeep.demo import build_demo, open_demo, print_demo
from tests.conftest import CHECKOUT

LOT = "DRF26241AZ"
PROOFS = CHECKOUT / "labels" / "proofs"
PAGES = {"batch-sheet-driftwood.pdf": "batch-sheet.png", "rack-cards.pdf": "rack-card.png"}


def _faces(desk: Desk, folder: Path, scratch: Path) -> list[Path]:
    """The demo's label on every face, and the page of all of them."""
    quiet, tinted = scratch / "quiet", scratch / "tinted"
    quiet.mkdir()
    tinted.mkdir()
    kept = []
    for path in write_proofs(desk, LOT, quiet, "quiet"):
        if path.stem != OVERVIEW:
            kept.append(Path(shutil.copy(path, folder / "faces")))
    write_proofs(desk, LOT, tinted, "tinted")
    return [*kept, Path(shutil.copy(tinted / f"{OVERVIEW}.png", folder))]


def remake(folder: Path = PROOFS) -> list[Path]:
    """Draw the first page of each print as a picture; returns the pictures."""
    made = []
    with tempfile.TemporaryDirectory() as scratch:
        shop = Path(scratch) / "shop"
        demo = build_demo(shop)
        with open_demo(shop, demo) as desk:
            print_demo(desk, demo)
            made += _faces(desk, folder, Path(scratch))
        for pdf, picture in PAGES.items():
            document = pypdfium2.PdfDocument(shop / "print" / pdf)
            document[0].render(scale=1.1).to_pil().convert("L").quantize(16).save(
                folder / picture, optimize=True
            )
            made.append(folder / picture)
            document.close()
    return made


if __name__ == "__main__":
    for path in remake():
        print(path)  # noqa: T201
