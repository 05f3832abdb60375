"""The application: its pages, its errors, its gate."""

from __future__ import annotations

from fastapi import APIRouter, FastAPI, Request, Response
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse, PlainTextResponse
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from soapstock.codes.lot import with_hyphens
from soapstock.desk.phones import Phone
from soapstock.errors import (
    AlreadyEntered,
    BadInput,
    NotFound,
    RuleBroken,
    SoapstockError,
    StoreError,
)
from soapstock.page import api, lots, pairing, pot, shop
from soapstock.page.guard import Guard, TooLarge
from soapstock.page.site import HERE, Forged, Site, Visit
from soapstock.page.words import help_of, say

STATUS: tuple[tuple[type[SoapstockError], int], ...] = (
    (Forged, 403),
    (BadInput, 400),
    (NotFound, 404),
    (RuleBroken, 409),
    (StoreError, 503),
)


def make_app(site: Site) -> Guard:
    """The application of one shop behind its gate."""
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, title="soapstock")
    app.state.site = site
    for router in routers():
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=HERE / "static"))
    app.add_exception_handler(SoapstockError, _told)
    app.add_exception_handler(HTTPException, _no_page)
    app.add_exception_handler(TooLarge, _too_large)
    app.add_exception_handler(Exception, _unexpected)

    @app.get("/sw.js", include_in_schema=False)
    def worker() -> FileResponse:
        return FileResponse(HERE / "static" / "sw.js", media_type="text/javascript")

    return Guard(app, site)


def routers() -> tuple[APIRouter, ...]:
    """Every page there is, by its file."""
    return (api.router, pairing.router, shop.router, pot.router, lots.router)


def wants_data(request: Request) -> bool:
    """The page's own script asks, not a person who turns a leaf."""
    return "application/json" in request.headers.get("accept", "")


def _told(request: Request, error: Exception) -> Response:
    """An error of ours as a page, or as data for the script."""
    if not isinstance(error, SoapstockError):
        raise error
    again = isinstance(error, AlreadyEntered)
    status = 200 if again else next((n for kind, n in STATUS if isinstance(error, kind)), 500)
    message = with_hyphens(error.message)
    help_text = with_hyphens(help_of(error))
    if wants_data(request) or request.url.path.startswith("/api/"):
        told = {"ok": again, "said": message, "help": help_text}
        return JSONResponse(told, status_code=status)
    return _page(request, status, message, help_text, again=again)


def _page(
    request: Request, status: int, message: str, help_text: str, *, again: bool = False
) -> Response:
    phone = request.state.phone
    site: Site = request.app.state.site
    if not isinstance(phone, Phone):
        html = site.shown("outside.html", message=message, help=help_text)
        return HTMLResponse(html, status_code=status)
    seen = Visit(site=site, phone=phone, path=request.url.path)
    return seen.page("told.html", status=status, message=message, help=help_text, again=again)


def _no_page(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 404
    words = say("error.no_page" if status == 404 else "error.not_so")
    if wants_data(request) or request.url.path.startswith("/api/"):
        return JSONResponse({"ok": False, "said": words, "help": ""}, status_code=status)
    return _page(request, status, words, "")


def _too_large(_: Request, __: Exception) -> Response:
    return PlainTextResponse(say("error.too_large"), status_code=413)


def _unexpected(_: Request, __: Exception) -> Response:
    return PlainTextResponse(say("error.unexpected"), status_code=500)
