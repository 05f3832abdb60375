"""A market day: bars are taken out, several kinds are sold, and the rest comes back."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk, on_day
from soapstock.desk.finding import find_recipe
from soapstock.enter.money import Terms
from soapstock.enter.sell import sell
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.units import several
from soapstock.views.batch import views
from soapstock.views.orders import lacking_words, pick

if TYPE_CHECKING:
    from soapstock.ledger.facts import Stamp
    from soapstock.ledger.write.writer import Writer

STOPPED = ("on hold", "failed", "rejected")  # such bars go to the rack, not to a shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of bar: how many are taken out, and how many of those there are sold.

    Attributes:
        sold: None while the market is still to come; else the rest comes back.
    """

    recipe: str
    out: int = 0
    sold: int | None = None


def read_kinds(texts: Sequence[str]) -> list[Kind]:
    """Kinds as typed: `DRF=12` are taken out; of `DRF=12/5` five are sold; `/5` of those there.

    Raises:
        BadInput: not written so, or a kind twice.
    """
    kinds = []
    for text in texts:
        match = re.fullmatch(r"\s*([^=\s]+)=([0-9]{0,5})(?:/([0-9]{1,5}))?\s*", text)
        if not match or not (match[2] or match[3]):
            raise BadInput(
                f"'{text[:40]}' is no kind of bar for a market",
                hint="write DRF=12 to take out, DRF=12/5 when 5 of them were sold",
            )
        sold = None if match[3] is None else int(match[3])
        kinds.append(Kind(recipe=match[1].upper(), out=int(match[2] or 0), sold=sold))
    twice = [code for code, n in Counter(kind.recipe for kind in kinds).items() if n > 1]
    if twice:
        raise BadInput(f"{twice[0]} is given twice", hint="add its bars up")
    return kinds


def market(
    desk: Desk,
    at: str,
    kinds: Sequence[Kind],
    *,
    crate: str,
    back_to: str,
    destination: str = "",
    terms: Terms | None = None,
    on: date | None = None,
    note: str = "",
) -> list[str]:
    """Enter a market, or a part of its day, in one transaction; what was done, in sentences.

    Bars kept for orders stay. The earliest best-before goes first, out and sold.

    Args:
        at: the market, as the customer of what is sold there.
        crate: the place the bars stand at meanwhile; it is made when it is not there.
        back_to: where the rest goes.

    Raises:
        BadInput: no kind, no name; NotFound: no such recipe.
        RuleBroken: fewer bars than that are free, or stand in the crate.
    """
    if not at.strip():
        raise BadInput("sell to whom?", mend=Mend("name_market"))
    if not kinds:
        raise BadInput("no kind of bar is given", hint="write DRF=12")
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        for kind in kinds:
            find_recipe(reader, kind.recipe)
        if crate not in {place.name for place in reader.places()}:
            writer.add_place(stamp, crate, "shelf")
        day = on_day(here, on)
        done = [_take_out(day, writer, stamp, {k.recipe: k.out for k in kinds if k.out}, crate)]
        lines = [f"{kind.recipe}={kind.sold}" for kind in kinds if kind.sold]
        if lines:
            entered, _ = sell(
                here,
                lines,
                at,
                destination=destination,
                from_place=crate,
                terms=terms,
                on=on,
                note=note,
            )
            done.append(entered.said)
        closed = {kind.recipe for kind in kinds if kind.sold is not None}
        done.append(_bring_back(day, writer, stamp, closed, crate, back_to))
    return [said for said in done if said]


def _take_out(desk: Desk, writer: Writer, stamp: Stamp, wanted: dict[str, int], crate: str) -> str:
    plan = pick(desk, wanted, but=crate)
    if plan.lacking:
        raise RuleBroken(
            f"to take them out lack {lacking_words(plan.lacking)}",
            hint="only ready bars kept for no order go to a market; nothing was entered",
        )
    for take in plan.takes:
        writer.move(stamp, take.lot_code, take.bars, "bars", take.place, crate)
    return _said(f"Taken out to {crate}", [(t.lot_code.shown, t.bars) for t in plan.takes])


def _bring_back(
    desk: Desk, writer: Writer, stamp: Stamp, recipes: set[str], crate: str, to: str
) -> str:
    """Bring what is left of those kinds in the crate back; stopped bars to the rack."""
    came = []
    for item in views(desk, in_stock=True):
        left = item.facts.places.get(crate, 0)
        if left > 0 and item.facts.recipe_code in recipes:
            place = "rack" if item.readiness.state in STOPPED else to
            writer.move(stamp, item.facts.lot_code, left, "bars", crate, place)
            came.append((item.facts.lot_code.shown, left))
    return _said(f"Back on {to}", came)


def _said(head: str, bars: Sequence[tuple[str, int]]) -> str:
    """Such as `Taken out to market: 5 bars (5 of DRF-26241-AZ).`; empty for nothing."""
    if not bars:
        return ""
    lots: Counter[str] = Counter()
    for lot, n in bars:
        lots[lot] += n
    every = ", ".join(f"{n} of {lot}" for lot, n in lots.items())
    return f"{head}: {several(sum(lots.values()), 'bar')} ({every})."
