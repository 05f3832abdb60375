"""Take pages of a maker's old notes into the ledger: as history, once, and all in one entry."""

from __future__ import annotations

from collections.abc import Sequence

from soapstock.desk.desk import Desk
from soapstock.enter.entered import Entered
from soapstock.exchange.tabular import json_text
from soapstock.ledger.facts import OldPageFacts
from soapstock.units import several
from soapstock.views.old_notes import OldPage


def take_pages(
    desk: Desk, source: str, pages: Sequence[OldPage], *, note: str = ""
) -> Entered | None:
    """Enter the pages that were not taken in before; None when there are none.

    No lot is opened by them: what a page says, guessed or not, is never poured or sold.

    Args:
        source: the file they stood in.
    """
    fresh = {page.sha256: page for page in pages if not page.known}
    if not fresh:
        return None
    with desk.writing() as (here, writer):
        entry = writer.take_pages(
            here.stamp(None, note),
            [
                OldPageFacts(
                    source=source,
                    stands_at=page.where,
                    said=page.said,
                    said_sha256=sha256,
                    poured_on=page.poured_on,
                    variety=page.variety[:200],
                    bars=page.bars,
                    understood_json=json_text(page),
                )
                for sha256, page in fresh.items()
            ],
        )
    return Entered(
        entry_id=entry, lot_code=None, said=f"Took in {several(len(fresh), 'page')} of {source}."
    )
