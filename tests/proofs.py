"""Remakes the README's pictures from the demo's prints: `python -m tests.proofs`.

Face proofs have a command of their own (`soapstock design proofs`); this makes the batch sheet and
the rack card.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import pypdfium2

from soapstock.upkeep.demo import build_demo, open_demo, print_demo
from tests.conftest import CHECKOUT

PROOFS = CHECKOUT / "labels" / "proofs"
PAGES = {"batch-sheet-driftwood.pdf": "batch-sheet.png", "rack-cards.pdf": "rack-card.png"}


def remake(folder: Path = PROOFS) -> list[Path]:
    """Draw the first page of each print as a picture; returns the pictures."""
    made = []
    with tempfile.TemporaryDirectory() as scratch:
        shop = Path(scratch) / "shop"
        demo = build_demo(shop)
        with open_demo(shop, demo) as desk:
            print_demo(desk, demo)
        for pdf, picture in PAGES.items():
            document = pypdfium2.PdfDocument(shop / "print" / pdf)
            document[0].render(scale=1.1).to_pil().convert("L").save(
                folder / picture, optimize=True
            )
            made.append(folder / picture)
            document.close()
    return made


if __name__ == "__main__":
    for path in remake():
        print(path)  # noqa: T201
