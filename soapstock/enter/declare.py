"""Another net weight is declared for a batch whose bars cannot keep the recipe's."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from soapstock.desk.desk import Desk, on_day, one_snapshot
from soapstock.desk.finding import read_lot
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.units import format_g, mg_from_g, parse_mass_g
from soapstock.views.batch import view
from soapstock.views.cure import cure_view


@one_snapshot
def highest_g(desk: Desk, lot: str) -> Decimal:
    """The highest weight of a bar, g, that a batch can honestly promise to its best-before.

    Raises:
        RuleBroken: nothing is known of its drying.
    """
    return cure_view(desk, view(desk, read_lot(desk, lot, kind="batch"))).highest_declared_g


def declare(desk: Desk, lot: str, mass: str, why: str, *, on: date | None = None) -> Entered:
    """Declare another net weight for the bars of one batch, with the reason.

    Raises:
        RuleBroken: the bars cannot keep that weight, or one was shipped under another.
    """
    if not why.strip():
        raise BadInput("a declared weight needs a reason", mend=Mend("give_reason", example="why"))
    mass_g = parse_mass_g(mass, "declared weight")
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer):
        code = read_lot(here, lot, kind="batch")
        highest = highest_g(on_day(here, on), code)
        if mass_g > highest:
            raise RuleBroken(
                f"{format_g(mass_g, 1)} is more than the bars of {code.shown} can keep",
                hint=f"{format_g(highest, 1)} is the most that can honestly be promised",
            )
        entry = writer.declare(stamp, code, mg_from_g(mass_g), why.strip())
    said = f"{code.shown} declares {format_g(mass_g, 1)} a bar."
    notes = ("Labels printed before say another weight: destroy them, and count them as spoiled.",)
    return Entered(entry_id=entry, lot_code=code, said=said, notes=notes)
