"""Rack cards, and what a printed file is named."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soapstock.codes.lot import LotCode
from soapstock.codes.reading import qr_text
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import read_lot
from soapstock.units import format_g
from soapstock.views import words
from soapstock.views.batch import BatchView, view
from soapstock.views.cure import UNMOULD_AFTER_DAYS

if TYPE_CHECKING:
    from soapstock.ledger.facts import BatchFacts, WeighRecord


@one_snapshot
def print_cards(desk: Desk, lots: list[str], path: Path) -> int:
    """Print the rack cards of lots; returns how many."""
    from soapstock.render.paper.rack_card import write_rack_card

    cards = [card_of(desk, view(desk, read_lot(desk, lot, kind="batch"))) for lot in lots]
    write_rack_card(path, cards, paper=desk.shop.paper)
    return len(cards)


def card_of(desk: Desk, item: BatchView) -> Any:
    """The rack card of a batch."""
    from soapstock.render.paper.rack_card import RackCard

    facts = item.facts
    due = (
        facts.unmould.on if facts.unmould else facts.poured_on + timedelta(days=UNMOULD_AFTER_DAYS)
    )
    declared = item.recipe.declared_weight_g
    return RackCard(
        shop_name=desk.shop.maker,
        recipe_name=item.recipe.name,
        lot_code=facts.lot_code.shown,
        qr_text=qr_text(
            facts.lot_code, desk.shop.web or None, desk.shop.gtin_for(item.recipe.code)
        ),
        poured_on=facts.poured_on,
        unmould_due=due,
        bars=item.bars if facts.unmould else None,
        start_mass_text=f"{item.start_g:.1f} g" if item.start_g else "",
        declared_text=format_g(round(declared, 1)) if declared is not None else "",
        ready_text=words.ready_by_words(item, year=True),
        state=words.state_words(item),
        stopped_text=words.stop_words(item),
        note=item.recipe.notes,
        tested_text=_tested(facts),
        released_text=_released(facts),
        weigh_ins=tuple(_cells(w) for w in facts.weigh_ins),
    )


def _tested(facts: BatchFacts) -> str:
    if not facts.tests:
        return ""
    last = facts.tests[-1]
    return f"{last.on.isoformat()} {last.method}: {'passed' if last.passed else 'FAILED'}"


def _released(facts: BatchFacts) -> str:
    last = facts.decisions[-1] if facts.decisions else None
    if last is None or last.decision != "release":
        return ""
    return f"{last.on.isoformat()} {last.by}"


def _cells(weighed: WeighRecord) -> tuple[str, ...]:
    """A weigh-in as a row of the card's table."""
    room = "" if weighed.room_c is None else f"{weighed.room_c:g}"
    damp = "" if weighed.room_rh is None else f"{weighed.room_rh:g}"
    mass = f"{weighed.mass_g:g}"
    return (weighed.on.isoformat(), str(weighed.bars), mass, room, damp, weighed.by)


def default_name(kind: str, lot: LotCode, today: date, ending: str = "pdf") -> Path:
    """A file name for a print, such as `labels-DRF-26329-AK-2026-11-25.pdf`."""
    return Path(f"{kind}-{lot.shown}-{today.isoformat()}.{ending}")
