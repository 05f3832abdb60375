"""Where bars go: moved, shipped, given, retained, wasted, counted."""

from __future__ import annotations

from datetime import date

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, on_day
from soapstock.desk.finding import read_lot
from soapstock.enter.entered import Entered, bar_count
from soapstock.enter.money import Terms, sales_of, told
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.ledger.facts import BatchFacts
from soapstock.units import mg_from_g, parse_mass_g, quantity_words, several
from soapstock.views.batch import view


def _from_place(facts: BatchFacts, bars: int, named: str | None) -> str:
    """The place to take bars from: the named one, or the only one that has them."""
    code = facts.lot_code.shown
    places = facts.for_sale()
    if named is not None:
        have = facts.places.get(named, 0)
        if have < bars:
            where = ", ".join(f"{n} on {p}" for p, n in places.items()) or "none anywhere"
            raise RuleBroken(
                f"{code}: {several(have, 'bar')} on {named}, not {bars}", hint=f"it has {where}"
            )
        return named
    fitting = [p for p, n in places.items() if n >= bars]
    if not fitting:
        where = ", ".join(f"{n} on {p}" for p, n in places.items()) or "none for sale"
        back = facts.places.get("returned", 0)
        apart = f", and {back} held apart after their return" if back else ""
        raise RuleBroken(
            f"{code} does not have {several(bars, 'bar')} in one place",
            hint=f"it has {where}{apart}",
            mend=Mend("name_place", place="returned") if back else None,
        )
    if len(fitting) > 1:
        shelf = [p for p in fitting if p in facts.on_shelf()]
        if len(shelf) != 1:
            raise BadInput(
                f"{code} stands in several places",
                hint="it has " + ", ".join(f"{n} on {p}" for p, n in places.items()),
                mend=Mend("name_place", place=fitting[0]),
            )
        return shelf[0]
    return fitting[0]


def move(
    desk: Desk,
    lot: str,
    bars: int,
    to: str,
    *,
    from_place: str | None = None,
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Move bars from one place to another; returned bars only with a note that says why."""
    bar_count(bars, "bars")
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        source = _from_place(reader.batch(code), bars, from_place)
        entry = writer.move(stamp, code, quantity=bars, unit="bars", from_place=source, to_place=to)
    said = f"Moved {several(bars, 'bar')} of {code.shown} from {source} to {to}."
    return Entered(entry_id=entry, lot_code=code, said=said)


def ship(
    desk: Desk,
    lot: str,
    bars: int,
    *,
    customer: str,
    order_ref: str = "",
    destination: str = "",
    from_place: str | None = None,
    terms: Terms | None = None,
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Ship released bars to a customer.

    Args:
        terms: what they are sold for; the price list says where nobody does.

    Raises:
        RuleBroken: the batch is not ready; says which gate is shut.
    """
    bar_count(bars, "bars")
    if not customer.strip():
        raise BadInput("ship to whom?", mend=Mend("name_customer"))
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        facts = _fit_to_ship(on_day(here, on), code)
        source = _from_place(facts, bars, from_place)
        parcel = [(facts.recipe_code, bars)]
        sales = sales_of(here, reader, parcel, terms or Terms(), stamp.happened_on)
        entry = writer.ship(
            stamp,
            code,
            bars=bars,
            from_place=source,
            customer=customer.strip(),
            order_ref=order_ref.strip(),
            destination=destination.strip(),
            sale=sales[0],
        )
    paid = told(desk, sales, [bars])
    said = f"Shipped {several(bars, 'bar')} of {code.shown} to {customer.strip()}"
    said += f" for {paid}." if paid else "."
    return Entered(entry_id=entry, lot_code=code, said=said)


def _fit_to_ship(desk: Desk, code: LotCode) -> BatchFacts:
    """The facts of a batch that may ship on the desk's day. Raises RuleBroken."""
    item = view(desk, code)
    if item.readiness.state != "ready":
        shut = [f"{g.name}: {g.reason}" for g in item.readiness.gates.values() if not g.open]
        raise RuleBroken(
            f"{code.shown} may not ship: it is {item.readiness.state}",
            hint="; ".join(shut),
            mend=Mend("see_history", lot=code),
        )
    if item.expired:
        raise RuleBroken(
            f"{code.shown} was best before {item.best_before}: it may not ship",
            hint="waste it, or keep it for yourself",
        )
    return item.facts


def give(
    desk: Desk,
    lot: str,
    bars: int,
    given_for: str,
    *,
    to: str = "",
    from_place: str | None = None,
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Give bars away, or use them oneself; neither sold nor waste.

    Raises:
        BadInput: not said what for; RuleBroken: others get what is not ready, or it is stopped.
    """
    bar_count(bars, "bars")
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        own = given_for == "own use"
        facts = reader.batch(code) if own else _fit_to_ship(on_day(here, on), code)
        source = _from_place(facts, bars, from_place)
        entry = writer.give(stamp, code, bars, source, given_for, to.strip())
    whom = f" to {to.strip()}" if to.strip() else ""
    said = f"Gave {several(bars, 'bar')} of {code.shown} from {source}{whom}: {given_for}."
    return Entered(entry_id=entry, lot_code=code, said=said)


def retain(
    desk: Desk, lot: str, bars: int, *, from_place: str | None = None, on: date | None = None
) -> Entered:
    """Keep bars back as retained samples."""
    bar_count(bars, "bars")
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        source = _from_place(reader.batch(code), bars, from_place)
        entry = writer.retain(stamp, code, bars=bars, from_place=source)
    said = f"Retained {several(bars, 'bar')} of {code.shown} from {source}."
    return Entered(entry_id=entry, lot_code=code, said=said)


def quantity_of(desk: Desk, lot: str, text: str) -> tuple[LotCode, int, str]:
    """The lot, and the quantity typed for it: bars of a batch, a mass of an ingredient lot."""
    code = read_lot(desk, lot)
    with desk.ledger.read() as reader:
        kind = reader.lot_kind(code)
    if kind == "batch":
        if not (text.isascii() and text.strip().isdigit()):
            raise BadInput(f"'{text}' is not a count of bars", hint="give a whole number")
        return code, int(text), "bars"
    return code, mg_from_g(parse_mass_g(text, "mass")), "mg"


def waste(
    desk: Desk,
    lot: str,
    quantity: str,
    why: str,
    *,
    from_place: str | None = None,
    on: date | None = None,
) -> Entered:
    """Waste bars, or a mass of an ingredient lot, with the reason."""
    if not why.strip():
        raise BadInput("waste needs a reason", mend=Mend("give_reason", example="dropped"))
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code, amount, unit = quantity_of(here, lot, quantity)
        if amount <= 0:
            raise BadInput("nothing to waste", hint="give one or more")
        source = from_place or (
            "store" if unit == "mg" else _from_place(reader.batch(code), amount, None)
        )
        entry = writer.waste(stamp, code, quantity=amount, from_place=source, reason=why.strip())
    said = f"Wasted {quantity_words(amount, unit)} of {code.shown} from {source}."
    return Entered(entry_id=entry, lot_code=code, said=said)


def count(
    desk: Desk, lot: str, place: str, counted: str, *, on: date | None = None, note: str = ""
) -> Entered:
    """Record what was counted at a place; a difference to the book is posted openly."""
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code, amount, unit = quantity_of(here, lot, counted)
        before = sum(
            line.quantity
            for line in reader.stock(code)
            if line.place == place and line.unit == unit
        )
        entry = writer.count(stamp, code, place=place, counted=amount)
    gap = amount - before
    words = (
        "as the book says"
        if gap == 0
        else f"{quantity_words(abs(gap), unit)} {'more' if gap > 0 else 'fewer'} than the book"
    )
    said = f"Counted {quantity_words(amount, unit)} of {code.shown} on {place}: {words}."
    return Entered(entry_id=entry, lot_code=code, said=said)
