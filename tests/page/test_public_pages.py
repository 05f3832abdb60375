"""The public pages in a real browser: for all eyes, on a phone and on a desk, and on paper."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pypdfium2

from soapstock.desk.desk import Desk
from soapstock.enter.recall import recall
from soapstock.papers.publish import publish
from soapstock.shop import Pages
from tests.desks import desk
from tests.page.browser import browsing
from tests.page.eyes import AXE, RULES, axe_script

__all__ = ["desk"]


def test_public_pages_are_for_all_eyes(desk: Desk, tmp_path: Path) -> None:
    """Axe-core (WCAG 2.2 A and AA) finds nothing, light or dark; no page is wider than a phone.

    A lot for sale, one recalled, its variety, the indexes, and the help for a mistyped code. The
    lot's page in two languages prints on two sheets, and no heading stands alone at a foot.
    """
    desk = replace(desk, shop=replace(desk.shop, pages=Pages(languages=("en", "fr"))))
    recall(desk, "EBB-26246", clock=lambda: 0.0, hold=True, why="x", hazard="Free lye.")
    publish(desk, tmp_path)
    names = ("index", "lot/DRF26241AZ/index", "lot/EBB26246AS/index", "variety/DRF/index")
    names = (*names, "recalls/index", "404")
    with browsing() as browser:
        page = browser.new_page(viewport={"width": 360, "height": 740})
        for name in names:
            page.goto(f"file://{tmp_path}/{name}.html")
            page.evaluate(axe_script())
            assert page.evaluate(AXE, ["tag", RULES]) == [], name
            page.emulate_media(color_scheme="dark")
            assert page.evaluate(AXE, ["rule", ["color-contrast"]]) == [], name
            page.emulate_media(color_scheme="light")
            assert page.evaluate("document.documentElement.scrollWidth") <= 360, name
        page.goto(f"file://{tmp_path}/lot/DRF26241AZ/index.html")
        paper = pypdfium2.PdfDocument(BytesIO(page.pdf(format="Letter")))
    first, *others = (sheet.get_textpage().get_text_range() for sheet in paper)
    assert len(others) == 1
    assert "Driftwood" in first
    assert "How this lot dried" in others[0]
