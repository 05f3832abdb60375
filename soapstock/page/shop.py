"""The shop as a whole: what is to be done today, the lots found by a code, what is in stock."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from soapstock.errors import SoapstockError
from soapstock.page.site import Visit, picture, visit
from soapstock.page.words import say

router = APIRouter()
Seen = Annotated[Visit, Depends(visit)]
DAYS_AHEAD = 60


@router.get("/")
def today(seen: Seen) -> HTMLResponse:
    """What is to be done, in the order of need."""
    from soapstock.views.today import steps

    with seen.site.open() as desk:
        found = steps(desk, DAYS_AHEAD)
    day = seen.site.today()
    return seen.page(
        "today.html",
        now=[step for step in found if step.is_due(day)],
        later=[step for step in found if not step.is_due(day)],
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

    with seen.site.open() as desk:
        rows = varieties(desk)
    return seen.page("stock.html", rows=rows)


@router.get("/market")
def market(seen: Seen, name: str = "") -> HTMLResponse:
    """Sell bars at a market: the lots that may be sold, one tap each."""
    from soapstock.views.lists import ready

    with seen.site.open() as desk:
        lines = [line for line in ready(desk) if line.now]
    return seen.page("market.html", lines=lines, market=name.strip()[:80])


@router.get("/shelf")
def shelf(seen: Seen, place: str = "") -> HTMLResponse:
    """Count what stands at a place, lot by lot."""
    from soapstock.views.stock import places
    from soapstock.views.stock import stock as stock_rows

    with seen.site.open() as desk:
        known = [row for row in places(desk) if row.bars or row.kind in ("rack", "shelf")]
        rows = [row for row in stock_rows(desk) if row.place == place and row.unit == "bars"]
    return seen.page("shelf.html", places=known, place=place[:80], rows=rows)
