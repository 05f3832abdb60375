"""Pairing a phone, and dismissing one."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from soapstock.desk import phones
from soapstock.page.site import COOKIE, Given, Site, Visit, given, visit

router = APIRouter()
A_YEAR_S = 365 * 24 * 3600


@router.get("/pair")
def ask(request: Request, code: str = "") -> HTMLResponse:
    """Ask for the code that the machine showed; the scanned link brings it along."""
    site: Site = request.app.state.site
    return HTMLResponse(site.shown("pair.html", code=code[:20]))


async def _sent(request: Request) -> dict[str, str]:
    async with request.form(max_files=0, max_fields=5, max_part_size=1000) as sent:
        return {name: value for name, value in sent.items() if isinstance(value, str)}


@router.post("/pair")
def pair(request: Request, sent: Annotated[dict[str, str], Depends(_sent)]) -> Response:
    """Pair the phone for the person the code was made for."""
    site: Site = request.app.state.site
    _, secret = phones.pair(
        site.folder, sent.get("code", ""), sent.get("name", "") or "phone", site.clock()
    )
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(
        COOKIE, secret, max_age=A_YEAR_S, httponly=True, samesite="lax", secure=site.https
    )
    return answer


@router.get("/phones")
def listed(seen: Annotated[Visit, Depends(visit)]) -> HTMLResponse:
    """The phones that are paired."""
    return seen.page("phones.html", phones=phones.phones(seen.site.folder), gone=None)


@router.post("/phones/dismiss")
def dismiss(
    seen: Annotated[Visit, Depends(visit)], sent: Annotated[Given, Depends(given)]
) -> HTMLResponse:
    """Dismiss a phone: it sees nothing from now on."""
    gone = phones.dismiss(seen.site.folder, sent.text("name"))
    return seen.page("phones.html", phones=phones.phones(seen.site.folder), gone=gone)
