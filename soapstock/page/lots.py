"""One lot: its page, and what can be entered of it."""

from __future__ import annotations

import hashlib
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse

from soapstock.chemistry.cautions import lye_cautions
from soapstock.desk.desk import Desk
from soapstock.errors import NotFound
from soapstock.page.curve import curve_of
from soapstock.page.forms import FORMS, day_of
from soapstock.page.site import Given, Visit, given, given_picture, visit
from soapstock.page.words import say

router = APIRouter()
Seen = Annotated[Visit, Depends(visit)]
Sent = Annotated[Given, Depends(given)]

# The form that the next step asks for; other steps need a person, paper or time.
FORM_OF_STEP = {
    "unmould": "unmould",
    "weigh": "weigh",
    "test": "test",
    "release": "release",
    "declare less": "declare",
    "failed": "test",
    "on hold": "test",
    "look at": "weigh",
}


@router.get("/lot/{code}")
def lot_page(seen: Seen, code: str) -> HTMLResponse:
    """Everything about a lot that is asked for at the rack."""
    from soapstock.views.history import BatchHistory, scan

    def told(desk: Desk) -> tuple[str, dict[str, Any]]:
        with desk.reading() as (here, reader):
            found = scan(here, code)
            if not isinstance(found, BatchHistory):
                return "ingredient.html", _ingredient(found)
            photos = reader.photos(found.item.facts.lot_code)
            return "batch.html", {"photos": photos, **_batch(here, found)}

    template, values = seen.site.ask(f"lot {code}", told)
    return seen.page(template, **values)


@router.get("/01/{_}/10/{code}")
def by_standard_link(_: str, code: str) -> Response:
    """The link that a label's code holds when the shop has a GTIN (GS1 Digital Link)."""
    return RedirectResponse(f"/lot/{code}", status_code=303)


def _batch(here: Desk, found: Any) -> dict[str, Any]:
    from soapstock.views import words
    from soapstock.views.cure import cure_view, facts_of
    from soapstock.views.history import history_row
    from soapstock.views.today import next_step

    item = found.item
    cure = cure_view(here, item) if item.forecast is not None else None
    step = next_step(here, item)
    return {
        "item": item,
        "record": history_row(found),
        "words": words,
        "step": step,
        "step_form": FORM_OF_STEP.get(step.what, "") if step else "",
        "curve": curve_of(cure) if cure else None,
        "facts": facts_of(cure) if cure else [],
        "cautions": lye_cautions(None),
        "forms": [form for form in FORMS if _fits(form, item.facts.unmould is not None)],
    }


def _fits(form: str, unmoulded: bool) -> bool:
    return form in ("unmould", "hold") if not unmoulded else form != "unmould"


def _ingredient(found: Any) -> dict[str, Any]:
    lye = found.lot.ingredient in ("naoh", "koh")
    return {"found": found, "lot": found.lot, "cautions": lye_cautions(None) if lye else ()}


@router.get("/lot/{code}/photo")
def photo_page(seen: Seen, code: str) -> HTMLResponse:
    """A form that takes a photo of a batch."""
    from soapstock.desk.finding import read_lot

    with seen.site.open() as desk:
        return seen.page("photo.html", lot=read_lot(desk, code, kind="batch"))


@router.post("/lot/{code}/photo")
def take_photo(
    seen: Seen,
    request: Request,
    sent: Annotated[tuple[Given, bytes], Depends(given_picture)],
    code: str,
) -> Response:
    """Keep a photo of a batch with the ledger."""
    from soapstock.enter.photo import add_photo

    texts, data = sent
    said = hashlib.sha256(texts.said.encode() + data).hexdigest()
    with seen.site.open(seen.phone.person, key=texts.key, said=said, at=texts.at) as desk:
        done = add_photo(desk, code, data, note=texts.text("note"))
    return entered(seen, request, done, back=f"/lot/{code}")


@router.get("/photo/{entry}")
def photo(seen: Seen, entry: int) -> Response:
    """A photo of a batch."""
    with seen.site.open() as desk, desk.ledger.read() as reader:
        return Response(reader.photo(entry), media_type="image/jpeg")


@router.get("/lot/{code}/{key}")
def form_page(seen: Seen, request: Request, code: str, key: str) -> HTMLResponse:
    """A form about a lot, empty or filled in from the link."""
    from soapstock.desk.finding import read_lot
    from soapstock.views.stock import places

    if key not in FORMS:
        raise NotFound(say("error.no_page"))
    with seen.site.open() as desk:
        lot = read_lot(desk, code)
        holding = [row.place for row in places(desk)]
    return seen.page(
        "form.html",
        lot=lot,
        form=FORMS[key],
        places=holding,
        filled={name: value[:200] for name, value in request.query_params.items()},
    )


@router.post("/lot/{code}/{key}")
def take(seen: Seen, request: Request, sent: Sent, code: str, key: str) -> Response:
    """Enter what a form says."""
    if key not in FORMS:
        raise NotFound(say("error.no_page"))
    on: date | None = day_of(sent, seen.site.today())
    by = seen.phone.person
    with seen.site.open(by, key=sent.key, said=sent.said, at=sent.at) as desk:
        done = FORMS[key].enter(desk, code, sent, on)
    return entered(seen, request, done, back=f"/lot/{code}")


def entered(seen: Visit, request: Request, done: Any, *, back: str) -> Response:
    """Say what was entered: to the script as data, to a person as a page."""
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"ok": True, "said": done.said, "help": " ".join(done.notes)})
    return seen.page("entered.html", done=done, back=back)
