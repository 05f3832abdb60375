"""The same answers as data: stock, lots and today under `/api`, read-only, by a token of its own.

No customer's order and no lye mass stands in what a lot tells here, so that its reader may be a web
shop. The schema is made of the records themselves and is served as OpenAPI 3.1.
"""

from __future__ import annotations

import types
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from soapstock.chemistry.interval import Interval
from soapstock.codes.lot import LotCode
from soapstock.cure.gates import ReadyBy, State
from soapstock.exchange.tabular import SPREAD, plain
from soapstock.page.site import Site
from soapstock.page.words import say

router = APIRouter(prefix="/api")
DAYS_AHEAD = 60
NAMES: Mapping[str, Any] = {  # what the records' types name without importing it
    "Interval": Interval,
    "LotCode": LotCode,
    "ReadyBy": ReadyBy,
    "State": State,
}
SIMPLE: Mapping[Any, Mapping[str, str]] = {
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    Decimal: {"type": "number"},
    str: {"type": "string"},
    LotCode: {"type": "string"},
    date: {"type": "string", "format": "date"},
    datetime: {"type": "string", "format": "date-time"},
    type(None): {"type": "null"},
}


def _site(request: Request) -> Site:
    site: Site = request.app.state.site
    return site


@router.get("/stock")
def stock(request: Request) -> Response:
    """Bars by variety."""
    from soapstock.views.varieties import varieties

    return JSONResponse(plain(_site(request).ask("stock", varieties)))


@router.get("/lots")
def lots(request: Request) -> Response:
    """The batches with bars here or in the mould."""
    from soapstock.views.batch import views
    from soapstock.views.lists import row

    found = _site(request).ask("lots", lambda desk: views(desk, in_stock=True))
    return JSONResponse([plain(row(item)) for item in found])


@router.get("/lots/{code}")
def lot(request: Request, code: str) -> Response:
    """One batch, also one that is gone."""
    from soapstock.desk.finding import read_lot
    from soapstock.views.batch import view
    from soapstock.views.lists import row

    with _site(request).open() as desk, desk.reading() as (here, _):
        return JSONResponse(plain(row(view(here, read_lot(here, code, kind="batch")))))


@router.get("/today")
def today(request: Request) -> Response:
    """What is to be done; names the customers of open orders."""
    from soapstock.views.today import step_row, steps

    site = _site(request)
    found = site.ask("today", lambda desk: steps(desk, DAYS_AHEAD))
    return JSONResponse([plain(step_row(step, site.today())) for step in found])


@router.get("/openapi.json")
def schema() -> Response:
    """What there is to ask, and what the answers hold."""
    return JSONResponse(openapi())


def openapi() -> dict[str, Any]:
    """The description of all this after OpenAPI 3.1 (OpenAPI Initiative, 2021)."""
    from soapstock import __version__
    from soapstock.views.lists import BatchRow
    from soapstock.views.today import StepRow
    from soapstock.views.varieties import VarietyRow

    code = {"name": "code", "in": "path", "required": True, "schema": {"type": "string"}}
    asked: Sequence[tuple[str, Any, bool]] = (
        ("stock", VarietyRow, True),
        ("lots", BatchRow, True),
        ("lots/{code}", BatchRow, False),
        ("today", StepRow, True),
    )
    error = {"type": "object", "properties": {"said": {"type": "string"}}}
    paths = {}
    for path, record, many in asked:
        answer = {"$ref": f"#/components/schemas/{record.__name__}"}
        held = {"type": "array", "items": answer} if many else answer
        operation = {
            "operationId": path.replace("/{code}", "_of_code"),
            "summary": say(f"api.{path.partition('/')[0]}"),
            "responses": {
                "200": _answer(say("api.found"), held),
                "default": _answer(say("api.refused"), error),
            },
        }
        paths[f"/api/{path}"] = {"get": operation | ({} if many else {"parameters": [code]})}
    return {
        "openapi": "3.1.0",
        "info": {"title": "soapstock", "version": __version__},
        "security": [{"token": []}],
        "paths": paths,
        "components": {
            "schemas": {record.__name__: schema_of(record) for _, record, _ in asked},
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        },
    }


def _answer(words: str, held: Mapping[str, Any]) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": held}}}


def schema_of(kind: Any) -> dict[str, Any]:
    """The JSON schema of a type as `exchange.tabular.plain` makes JSON of it.

    Raises:
        TypeError: a type nobody has handed over as data yet.
    """
    if kind in SIMPLE:
        return dict(SIMPLE[kind])
    if is_dataclass(kind):
        return _record(kind)
    args = get_args(kind)
    origin = get_origin(kind)
    if origin is Literal:
        return {"enum": list(args)}
    if origin in (Union, types.UnionType):
        return {"anyOf": [schema_of(one) for one in args]}
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": schema_of(args[1])}
    if isinstance(origin, type) and issubclass(origin, Sequence):
        return {"type": "array", "items": schema_of(args[0])}
    raise TypeError(f"no schema for {kind}")


def _record(kind: Any) -> dict[str, Any]:
    hints = get_type_hints(kind, localns=dict(NAMES))
    held: dict[str, Any] = {}
    for part in fields(kind):
        inner = schema_of(hints[part.name])
        spread = part.metadata.get("spread") == SPREAD["spread"]
        held |= inner["properties"] if spread else {part.name.removesuffix("_"): inner}
    return {
        "type": "object",
        "properties": held,
        "required": list(held),
        "additionalProperties": False,
    }
