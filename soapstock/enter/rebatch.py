"""Rebatched soap: bars of an earlier batch that go into a new pot, and what they bring along.

What is inside those bars is known from their own pour, so it counts in the new batch's composition,
declaration and dates. Superfat is another matter: the old soap's free fat or free lye is not known
well enough to be reckoned with, so lye is judged on the new fats alone.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.chemistry.lye import Verdict
from soapstock.desk.desk import Desk, on_day
from soapstock.desk.finding import read_lot
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.ledger.facts import Use
from soapstock.units import mass_words, mg_from_g, parse_mass_g, several
from soapstock.views.batch import view
from soapstock.views.poured import free_alkali, piece

if TYPE_CHECKING:
    from soapstock.recipes.pour import PourJudgement
    from soapstock.views.batch import BatchView


SOAP = "soap"  # the ingredient a rebatched lot goes in as
SCALE_SLACK = 1.02  # a bar may be weighed that much over its mass at unmoulding
HOW = "write LOT=BARS:MASS, such as DRF-26241-AZ=12:1180g"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rebatch:
    """Bars for the pot: their lot, how many, their mass as weighed, and where they stood."""

    lot: str
    bars: int
    mass_g: Decimal
    place: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rebatched:
    """Bars that go into a pot, and what must be said of them.

    Attributes:
        doubt: why their free alkali is not known to be low; empty when a test passed.
    """

    use: Use
    said: str
    doubt: str


def parse_rebatch(text: str) -> Rebatch:
    """`LOT=BARS:MASS` or `LOT=BARS:MASS@PLACE`. Raises BadInput."""
    lot, equals, rest = text.partition("=")
    amount, _, place = rest.partition("@")
    bars, colon, mass = amount.partition(":")
    if not (equals and colon and lot.strip() and re.fullmatch(r"\s*[0-9]{1,6}\s*", bars)):
        raise BadInput(f"'{text[:80]}' is not understood", hint=HOW)
    mass_g = parse_mass_g(mass, "mass of the bars")
    if int(bars) < 1 or mass_g <= 0:
        raise BadInput(f"'{text[:80]}' is no bars", hint=HOW)
    return Rebatch(lot=lot.strip(), bars=int(bars), mass_g=mass_g, place=place.strip() or None)


def take(desk: Desk, texts: Sequence[str], on: date) -> list[Rebatched]:
    """The bars that the maker puts into the pot on a day.

    Raises:
        BadInput: not understood, a lot given twice, or a mass the bars cannot have.
        RuleBroken: rejected, still in the mould, or too few where they are taken from.
    """
    wanted = [parse_rebatch(text) for text in texts]
    codes = [read_lot(desk, one.lot, kind="batch") for one in wanted]
    if len(set(codes)) < len(codes):
        raise BadInput("a lot is rebatched twice", hint="give all its bars at once")
    then = on_day(desk, on)
    return [_taken(view(then, code), one) for code, one in zip(codes, wanted, strict=True)]


def _taken(item: BatchView, wanted: Rebatch) -> Rebatched:
    code = item.facts.lot_code
    name = code.shown
    if item.readiness.state == "rejected":
        raise RuleBroken(
            f"{name} was rejected: it goes into no pot",
            hint="if only its lye was wrong, undo the rejection, put it on hold, and rebatch it",
        )
    if item.facts.unmould is None:
        raise RuleBroken(f"{name} is still in its mould", mend=Mend("unmould", lot=code))
    _check_mass(item, wanted)
    use = Use(
        lot_code=code,
        ingredient=SOAP,
        role="addition",
        mass_mg=mg_from_g(wanted.mass_g),
        bars=wanted.bars,
        place=_place(item, wanted),
    )
    said = f"{several(wanted.bars, 'bar')} of {name} ({mass_words(wanted.mass_g)})"
    return Rebatched(use=use, said=said, doubt=_doubt(item))


def _check_mass(item: BatchView, wanted: Rebatch) -> None:
    """Refuse a mass that is not between the bone-dry bars and the bars as they were unmoulded."""
    one = piece(item.composition, item.facts)
    low, high = one.dry_g * wanted.bars, one.total_g * wanted.bars * SCALE_SLACK
    mass = float(wanted.mass_g)
    if not low <= mass <= high:
        raise BadInput(
            f"{several(wanted.bars, 'bar')} of {item.facts.lot_code.shown} cannot weigh "
            f"{mass_words(wanted.mass_g)}: {low:.0f} g bone dry, {high:.0f} g fresh",
            hint="weigh the bars that go into the pot, and count them",
        )


def _place(item: BatchView, wanted: Rebatch) -> str:
    """Where the bars are taken from: the place named, else the one for sale that has most."""
    places = item.facts.for_sale()
    there = item.facts.places if wanted.place else places
    place = wanted.place or max(places, key=lambda p: places[p], default="rack")
    have = there.get(place, 0)
    if have < wanted.bars:
        where = ", ".join(f"{n} on {p}" for p, n in places.items()) or "none for sale"
        raise RuleBroken(
            f"{item.facts.lot_code.shown}: {several(have, 'bar')} on {place}, not {wanted.bars}",
            hint=f"it has {where}; name the place: LOT=BARS:MASS@PLACE",
        )
    return place


def _doubt(item: BatchView) -> str:
    passed, note = free_alkali(item.facts)
    if item.judged == "refuse":
        return "its lye was refused at the pour"
    if passed is not True:
        return note
    last = item.facts.decisions[-1] if item.facts.decisions else None
    if last is not None and last.decision == "hold":
        return f"it is on hold ({last.reason})"
    return ""


def with_soap(judgement: PourJudgement, taken: Sequence[Rebatched]) -> PourJudgement:
    """The judgement of a pot with old soap in it: never plainly safe, and it says why."""
    if not taken:
        return judgement
    soap = ", ".join(one.said for one in taken)
    reasons = [
        f"the superfat is that of the new fats and lye alone, without {soap}: "
        "test the bars for free alkali before release"
    ]
    reasons += [
        f"{one.use.lot_shown} is in doubt, {one.doubt}: only a titration can release this batch"
        for one in taken
        if one.doubt
    ]
    found = judgement.verdict
    verdict = Verdict(
        word="refuse" if found.word == "refuse" else "check", reasons=(*found.reasons, *reasons)
    )
    return replace(judgement, verdict=verdict)
