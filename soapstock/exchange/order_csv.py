"""Orders from a CSV of any column names, by a mapping file of the maker's.

The mapping is TOML; without one, the columns are expected under our own names:

    delimiter = ","
    date_format = "%Y-%m-%d"
    [columns]                 # our name = their column
    order = "Order No"
    customer = "Name"
    recipe = "Item"
    bars = "Qty"
    wanted_by = "Ship by"     # optional, like destination, ship_to, contact, price and note
    [recipes]                 # their item = our recipe code, or the bars of a box of several
    "Driftwood bar" = "DRF"
    "Box of six" = "DRF=4 EBB=2"

Lines of one order may stand anywhere in the file; what they say of customer, day, destination and
note must agree, and may be said once. The price of a box is shared by its bars to the cent.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from soapstock.errors import BadInput, Mend
from soapstock.tables.fields import Fields, Source

NEEDED = ("order", "customer", "recipe", "bars")
OPTIONAL = ("wanted_by", "ordered_on", "destination", "ship_to", "contact", "price", "note")
MAX_ROWS, MAX_CELL, MAX_FORMAT = 20_000, 2_000, 40


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMap:
    """How a maker's CSV is to be read."""

    columns: Mapping[str, str]
    recipes: Mapping[str, str] = field(default_factory=dict)
    date_format: str = "%Y-%m-%d"
    delimiter: str = ","


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow:
    """One order as the file has it; `lines` are recipe code, bars and price in cents."""

    order_ref: str
    customer: str
    contact: str
    destination: str
    ship_to: str
    wanted_on: date | None
    ordered_on: date | None
    note: str
    lines: tuple[tuple[str, int, int | None], ...]


SHARED = ("customer", "contact", "destination", "ship_to", "wanted_on", "ordered_on", "note")
OWN = ColumnMap(columns={name: name for name in (*NEEDED, *OPTIONAL)})


def read_mapping(text: str, where: str) -> ColumnMap:
    """A mapping from its TOML, strictly. Raises BadInput naming file, line and key."""
    source = Source(text=text, where=where)
    top = Fields(source, "", source.load(), ("columns", "recipes", "date_format", "delimiter"))
    columns = top.table("columns", (*NEEDED, *OPTIONAL))
    wanted = [*NEEDED, *(name for name in OPTIONAL if columns.has(name))]
    delimiter = top.as_written("delimiter", ",")
    if len(delimiter) != 1 or delimiter in '\r\n"':
        raise top.fail("delimiter", "must be one character, such as ; or a tab")
    date_format = top.as_written("date_format", "%Y-%m-%d")
    if len(date_format) > MAX_FORMAT or "%" not in date_format:
        raise top.fail("date_format", "must be like %d/%m/%Y")
    return ColumnMap(
        columns={name: columns.as_written(name) for name in wanted},
        recipes=top.text_map("recipes"),
        date_format=date_format,
        delimiter=delimiter,
    )


def read_orders(text: str, mapping: ColumnMap, where: str) -> list[OrderRow]:
    """The orders of a CSV, in order of first appearance.

    Raises:
        BadInput: names file and line, and what is wrong with the first ten bad lines.
    """
    if "\0" in text:
        raise BadInput(f"{where} is not a text file", hint="save it as CSV (UTF-8)")
    reader = csv.DictReader(io.StringIO(text.lstrip("\ufeff")), delimiter=mapping.delimiter)
    try:
        header = list(reader.fieldnames or ())
        _check_header(header, mapping, where)
        return _gather(reader, mapping, where)
    except csv.Error as err:
        raise BadInput(f"{where}:{reader.line_num}: {err}", hint="mend the file there") from err


def _check_header(header: list[str], mapping: ColumnMap, where: str) -> None:
    for ours in NEEDED:
        theirs = mapping.columns[ours]
        if theirs not in header:
            found = ", ".join(header[:20])[:300]
            raise BadInput(
                f"{where}: no column '{theirs}' for {ours}",
                hint=f"columns here: {found or 'none'}",
                mend=Mend("map_columns"),
            )


def _gather(reader: csv.DictReader[str], mapping: ColumnMap, where: str) -> list[OrderRow]:
    orders: dict[str, OrderRow] = {}
    wrong: list[str] = []
    for count, cells in enumerate(reader, 1):
        if count > MAX_ROWS:
            raise BadInput(f"{where}: over {MAX_ROWS} lines", hint="split the file")
        try:
            row = _row(cells, mapping)
            orders[row.order_ref] = _joined(orders.get(row.order_ref), row)
        except BadInput as err:
            wrong.append(f"line {reader.line_num}: {err.message}")
    wrong += [
        f"order {row.order_ref}: customer is empty" for row in orders.values() if not row.customer
    ]
    if wrong:
        more = f"; and {len(wrong) - 10} more" if len(wrong) > 10 else ""  # noqa: PLR2004
        raise BadInput(
            f"{where}: {'; '.join(wrong[:10])}{more}", hint="nothing was taken in; mend the file"
        )
    return list(orders.values())


def _row(cells: Mapping[str | None, Any], mapping: ColumnMap) -> OrderRow:
    def cell(name: str) -> str:
        value = cells.get(mapping.columns.get(name, "\0")) or ""
        if len(value) > MAX_CELL:
            raise BadInput(f"{name} has over {MAX_CELL} characters")
        return str(value).strip()

    if None in cells:
        raise BadInput("more cells than columns")
    for name in ("order", "recipe"):
        if not cell(name):
            raise BadInput(f"{name} is empty")
    item = cell("recipe")
    bars, cents = _bars(cell("bars")), _cents(cell("price"))
    known = mapping.recipes.get(item, item).strip().upper()
    box = [part.partition("=") for part in known.split()] if "=" in known else [(known, "", "1")]
    each = [(code, _bars(count)) for code, _, count in box]
    return OrderRow(
        order_ref=cell("order"),
        customer=cell("customer"),
        contact=cell("contact"),
        destination=cell("destination"),
        ship_to=cell("ship_to").replace("\n", "; "),
        wanted_on=_day(cell("wanted_by"), mapping.date_format, "wanted_by"),
        ordered_on=_day(cell("ordered_on"), mapping.date_format, "ordered_on"),
        note=cell("note"),
        lines=tuple(_in_box(each, bars, cents)),
    )


def _in_box(
    each: list[tuple[str, int]], boxes: int, cents: int | None
) -> Iterator[tuple[str, int, int | None]]:
    """The lines of so many boxes: recipe, bars, and the price of a bar in cents.

    A price that its bars do not share evenly makes some of them a cent dearer.
    """
    whole, dearer = (None, 0) if cents is None else divmod(cents, sum(n for _, n in each))
    for code, bars in each:
        more = min(dearer, bars)
        dearer -= more
        if whole is not None and more:
            yield code, more * boxes, whole + 1
        if bars > more:
            yield code, (bars - more) * boxes, whole


def _bars(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 0 < int(text[:9]) and len(text) <= 6):  # noqa: PLR2004
        raise BadInput(f"bars '{text[:20]}' is not a count")
    return int(text)


def _cents(text: str) -> int | None:
    if not text:
        return None
    try:
        cents = Decimal(text) * 100
        if not cents.is_finite() or cents < 0 or cents > 10**10 or cents != int(cents):
            raise InvalidOperation
    except InvalidOperation:
        raise BadInput(f"price '{text[:20]}' is not an amount like 6.50") from None
    return int(cents)


def _day(text: str, form: str, what: str) -> date | None:
    if not text:
        return None
    try:
        return datetime.strptime(text, form).date()  # noqa: DTZ007 (a local date, no instant)
    except ValueError:
        raise BadInput(f"{what} '{text[:20]}' is not a day like {form}") from None


def _joined(old: OrderRow | None, new: OrderRow) -> OrderRow:
    if old is None:
        return new
    said = {}
    for name in SHARED:
        first, second = getattr(old, name), getattr(new, name)
        if first and second and first != second:
            raise BadInput(f"order {new.order_ref} has another {name.replace('_', ' ')} above")
        said[name] = first or second
    return replace(old, lines=old.lines + new.lines, **said)
