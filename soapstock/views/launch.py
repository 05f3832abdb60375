"""A launch: who of the waiting list gets how many bars."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe, parsed_recipe
from soapstock.errors import Mend, RuleBroken
from soapstock.planning.shares import fair_shares, first_come
from soapstock.units import several
from soapstock.views.orders import free_now, promise

Way = Literal["fair", "first"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareRow:
    """What one person of the waiting list gets of one soap.

    Attributes:
        order: the order that is made of it; empty without bars.
        still_waits: bars that stay on the list.
    """

    customer: str
    contact: str
    recipe: str
    soap: str
    asked: int
    gets: int
    still_waits: int
    order: str


@one_snapshot
def shares(
    desk: Desk, recipes: Sequence[str], way: Way | None, wanted_on: date | None
) -> list[ShareRow]:
    """Who gets what: of bars ready and free now, or free by a day (by their late ready-by).

    Args:
        recipes: what is launched; all that is waited for when empty.
        way: fair shares or first come; None where nobody need go short.

    Raises:
        NotFound: no such recipe.
        RuleBroken: nobody waits; no bar is there; bars are short and no way is given.
    """
    with desk.ledger.read() as reader:
        wants = reader.wants()
        names = {r.code: parsed_recipe(r.text, r.code).name for r in reader.recipes()}
        known = {o.order_ref for o in reader.orders()}
        codes = {find_recipe(reader, code)[0].code for code in recipes}
    codes = codes or {want.recipe_code for want in wants}
    wants = [want for want in wants if want.recipe_code in codes]
    if not wants:
        raise RuleBroken("nobody waits", hint="put people on the waiting list first")
    free = _free(desk, codes, wanted_on)
    got: dict[int, int] = {}
    for code in sorted(codes):
        queue = [n for n, want in enumerate(wants) if want.recipe_code == code]
        asked = [wants[n].bars for n in queue]
        if sum(asked) > free[code] and way is None:
            raise RuleBroken(
                f"{several(sum(asked), 'bar')} of {code} are waited for and {free[code]} are free",
                hint="say who goes short",
                mend=Mend("share"),
            )
        part = fair_shares if way == "fair" else first_come
        got |= dict(zip(queue, part(asked, free[code]), strict=True))
    if not any(got.values()):
        raise RuleBroken(f"no bar of {', '.join(sorted(codes))} is free for those who wait")
    served = dict.fromkeys(wants[n].customer for n in range(len(wants)) if got[n])
    refs = dict(zip(served, _refs(desk.today, known, len(served)), strict=True))
    return [
        ShareRow(
            customer=want.customer,
            contact=want.contact,
            recipe=want.recipe_code,
            soap=names[want.recipe_code],
            asked=want.bars,
            gets=got[n],
            still_waits=want.bars - got[n],
            order=refs[want.customer] if got[n] else "",
        )
        for n, want in enumerate(wants)
    ]


def _free(desk: Desk, codes: Iterable[str], wanted_on: date | None) -> dict[str, int]:
    """Free bars of each recipe, 0 or more: ready now, or promised by the day."""
    found = dict.fromkeys(codes, 0)
    if wanted_on is None:
        there = free_now(desk)
        return {code: max(there.get(code, 0), 0) for code in found}
    for row in promise(desk):  # in order of day, so that the last one up to it stands
        if row.recipe in found and row.from_ <= wanted_on:
            found[row.recipe] = row.free
    return found


def _refs(day: date, known: set[str], count: int) -> list[str]:
    """References of new orders, such as L261120-1, that no order bears."""
    found: list[str] = []
    number = 0
    while len(found) < count:
        number += 1
        if (ref := f"L{day:%y%m%d}-{number}") not in known:
            found.append(ref)
    return found


def by_order(rows: Sequence[ShareRow]) -> dict[str, list[ShareRow]]:
    """The rows of each order, in the order people came."""
    found: dict[str, list[ShareRow]] = defaultdict(list)
    for row in rows:
        if row.order:
            found[row.order].append(row)
    return found
