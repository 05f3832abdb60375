"""The shop as data: by its own token, read-only, and as its schema says.

Checked by jsonschema (JSON Schema 2020-12, which OpenAPI 3.1 takes over) and by the views.
"""

from __future__ import annotations

import httpx
import jsonschema
import pytest

from soapstock.desk import phones
from soapstock.page.api import openapi
from tests.page.served import Served
from tests.page.test_enter import lots


@pytest.fixture
def reader(served: Served) -> dict[str, str]:
    """What a reader of the data sends."""
    return {"authorization": f"Bearer {phones.new_reader_token(served.site.folder)}"}


def test_every_answer_is_as_the_schema_says(served: Served, reader: dict[str, str]) -> None:
    """Each path of the schema, asked; and the schema itself is what is served."""
    told = openapi()
    code = lots(served, "curing")[0]
    with served.client(headers=reader) as web:
        assert web.get("/api/openapi.json").json() == told
        for path, item in told["paths"].items():
            answer = web.get(path.replace("{code}", code))
            assert answer.status_code == 200, answer.text
            wanted = item["get"]["responses"]["200"]["content"]["application/json"]["schema"]
            schema = wanted | {"components": told["components"]}
            jsonschema.Draft202012Validator.check_schema(schema)
            jsonschema.validate(answer.json(), schema)
            assert answer.json()


def test_stock_is_what_the_page_says(served: Served, reader: dict[str, str]) -> None:
    """The same figures as the view."""
    from soapstock.views.varieties import varieties

    with served.client(headers=reader) as web:
        found = {row["name"]: row["free"] for row in web.get("/api/stock").json()}
    with served.site.open() as desk:
        assert found == {row.name: row.free for row in varieties(desk)}


def test_only_its_token_reads_and_it_reads_only(
    served: Served, phone: httpx.Client, reader: dict[str, str]
) -> None:
    """Neither a phone's cookie nor an old token; and the token opens no page and enters nothing."""
    assert phone.get("/api/stock").status_code == 401
    with served.client(headers=reader) as web:
        assert web.get("/").status_code == 401
        assert web.post("/api/stock").status_code in (403, 405)
        lot = lots(served, "ready")[0]
        assert web.post(f"/lot/{lot}/hold", data={"why": "x"}).status_code == 401
        assert web.get("/api/lots/NOPE").status_code in (400, 404)
        phones.new_reader_token(served.site.folder)
        assert web.get("/api/stock").status_code == 401


def test_a_lot_tells_no_customer_and_no_mass_of_lye(
    served: Served, phone: httpx.Client, reader: dict[str, str]
) -> None:
    """A web shop may hold the token."""
    with served.site.open() as desk, desk.ledger.read() as ledger:
        customers = {s.customer for s in ledger.shipments() if s.customer}
    with served.client(headers=reader) as web:
        text = web.get("/api/lots").text + web.get("/api/stock").text
    assert customers
    assert not [one for one in customers if one in text]
    assert "naoh" not in text.lower()
