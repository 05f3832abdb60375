"""What the ledger holds of the animals behind a batch, for claims such as `grass-fed`."""

from __future__ import annotations

from collections.abc import Sequence

from soapstock.desk.desk import Desk
from soapstock.desk.ingredients import RAW
from soapstock.labelling.claim_herd import AnimalLot, answer_herd, is_of_animals
from soapstock.labelling.claims import HERD, ClaimHit


def herd_answers(desk: Desk, code: str, hits: Sequence[ClaimHit]) -> tuple[str, ...]:
    """A line for each herd claim and lot of animal fat or milk in a batch; none without a claim.

    Args:
        code: the batch's lot code.
        hits: of its label, or of a text about it.
    """
    if not any(hit.claim_id == HERD for hit in hits):
        return ()
    return answer_herd(hits, animal_lots(desk, code))


def animal_lots(desk: Desk, code: str) -> tuple[AnimalLot, ...]:
    """The lots of animal fat and milk behind a batch, as they came in: raw fat for rendered fat."""
    with desk.ledger.read() as reader:
        found = reader.follow(code)
        made = {link.made for link in found.links}
        lots = [
            reader.ingredient_lot(lot.lot_code)
            for lot in found.back
            if lot.kind != "batch" and lot.lot_code not in made
        ]
        notes = {lot.lot_code: [e.note for e in reader.entries(lot.lot_code)] for lot in lots}
    return tuple(
        AnimalLot(
            lot_code=lot.lot_code.shown,
            ingredient=lot.ingredient.replace("-", " "),
            supplier=lot.supplier,
            record=tuple(filter(None, (lot.animal, lot.certificate, *notes[lot.lot_code]))),
        )
        for lot in lots
        if is_of_animals(lot.ingredient.removeprefix(RAW))
    )
