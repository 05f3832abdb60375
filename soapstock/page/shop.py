"""The shop as a whole: what is to be done today, the lots found by a code, what is in stock."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, TypeVar
from urllib.parse import quote

from fastapi import APIRouter, Depends, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from soapstock.errors import SoapstockError
from soapstock.page.site import Visit, picture, visit
from soapstock.page.words import say

router = APIRouter()
Seen = Annotated[Visit, Depends(visit)]
DAYS_AHEAD = 60
STEPS, SALES, COUNTS = 60, 15, 25  # rows of a page, so that it stays light in a big shop
Row = TypeVar("Row")


def _part(rows: Sequence[Row], after: str, most: int) -> tuple[Sequence[Row], int]:
    """At most so many rows after the first ones, and after how many the next come (0: none do)."""
    start = int(after) if after.isdecimal() and len(after) < 7 else 0
    end = start + most
    return rows[start:end], end if end < len(rows) else 0


@router.get("/")
def today(seen: Seen, after: str = "") -> HTMLResponse:
    """What is to be done, in the order of need."""
    from soapstock.views.today import steps

    every = seen.site.ask("today", lambda desk: steps(desk, DAYS_AHEAD))
    found, more = _part(every, after, STEPS)
    day = seen.site.today()
    return seen.page(
        "today.html",
        now=[step for step in found if step.is_due(day)],
        later=[step for step in found if not step.is_due(day)],
        more=f"/?after={more}" if more else "",
    )


@router.get("/scan")
def scan(seen: Seen, code: str = "") -> Response:
    """Find a lot by its code, typed or scanned."""
    from soapstock.desk.finding import read_lot

    if not code.strip():
        return seen.page("scan.html")
    with seen.site.open() as desk:
        found = read_lot(desk, code)
    return RedirectResponse(f"/lot/{quote(found.shown)}", status_code=303)


@router.post("/scan/picture")
def scan_picture(seen: Seen, taken: Annotated[bytes, Depends(picture)]) -> Response:
    """Find a lot by a picture of its code, read here."""
    from soapstock.desk.finding import read_lot
    from soapstock.outfile import work_folder
    from soapstock.scan.picture import codes_in_picture

    with work_folder() as folder:
        file = folder / "picture"
        file.write_bytes(taken)
        try:
            texts = codes_in_picture(file)
        except SoapstockError as error:  # no maker knows that file by its name here
            told = error.message.replace(str(file), say("scan.the_picture"))
            raise type(error)(told, hint=error.hint, mend=error.mend) from None
    with seen.site.open() as desk:
        found = read_lot(desk, texts[0])
    return RedirectResponse(f"/lot/{quote(found.shown)}", status_code=303)


@router.get("/stock")
def stock(seen: Seen) -> HTMLResponse:
    """Bars by variety."""
    from soapstock.views.varieties import varieties

    return seen.page("stock.html", rows=seen.site.ask("stock", varieties))


@router.get("/market")
def market(seen: Seen, name: str = "", after: str = "") -> HTMLResponse:
    """Sell bars at a market: the lots that may be sold, one tap each."""
    from soapstock.views.lists import ready

    every = [
        (line.item, place, bars)
        for line in seen.site.ask("ready", ready)
        if line.now
        for place, bars in line.item.facts.for_sale().items()
    ]
    rows, more = _part(every, after, SALES)
    market = name.strip()[:80]
    onward = f"/market?name={quote(market)}&after={more}" if more else ""
    return seen.page("market.html", rows=rows, market=market, more=onward)


@router.get("/shelf")
def shelf(seen: Seen, place: str = "", after: str = "") -> HTMLResponse:
    """Count what stands at a place, lot by lot."""
    from soapstock.views.stock import places
    from soapstock.views.stock import stock as stock_rows

    found, held = seen.site.ask("shelf", lambda desk: (places(desk), stock_rows(desk)))
    known = [row for row in found if row.bars or row.kind in ("rack", "shelf")]
    there = [row for row in held if row.place == place and row.unit == "bars"]
    rows, more = _part(there, after, COUNTS)
    place = place[:80]
    onward = f"/shelf?place={quote(place)}&after={more}" if more else ""
    return seen.page("shelf.html", places=known, place=place, rows=rows, more=onward)
