"""Take a lot of an ingredient into the store."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from soapstock.chemistry.certificates import doubt_about, read_sv
from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.codes.lot import ingredient_prefix
from soapstock.desk.desk import Desk
from soapstock.desk.finding import free_lot_code
from soapstock.desk.ingredients import known_ingredient
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.ledger.facts import IngredientLot, ReceiveFacts, Stamp, Use
from soapstock.money.costs import OWN_ORIGINS
from soapstock.units import g_from_mg, mass_words, mg_from_g, parse_mass_g

FROM_BEFORE = "from before the ledger"


LONG_AGO_DAYS = 180  # a delivery entered later than that may have the wrong year


def receive(
    desk: Desk,
    ingredient: str,
    mass: str,
    *,
    supplier: str = "",
    supplier_lot: str = "",
    cost: str = "",
    best_before: date | None = None,
    certificate_sv: str = "",
    certificate: str = "",
    animal: str = "",
    raw_fat: str = "",
    acid_value: float | None = None,
    moisture_percent: float | None = None,
    sure: bool = False,
    from_before: bool = False,
    on: date | None = None,
    note: str = "",
    made_from: tuple[Use, ...] = (),
) -> Entered:
    """Receive an ingredient lot: bought, or rendered from own fat.

    Args:
        certificate_sv: saponification value of the lot's certificate, mg KOH/g, as `196`,
            `196±1` or `194-198`; one figure alone is taken with the tolerance of the tables.
        sure: it is right although the certificate lies far outside the published range, or the
            same came on the same day before.
        from_before: it was there before the ledger began; where it came from may be unknown.
        made_from: what it was rendered from, lot by lot.

    Raises:
        BadInput: unknown ingredient, bad mass, cost or certificate; neither supplier nor animal.
        RuleBroken: a certificate far outside the fat's published range, or the same received
            on the same day before, and nobody is `sure`.
    """
    if from_before:
        note = "; ".join(filter(None, (FROM_BEFORE, note)))
        supplier = supplier or ("" if animal else FROM_BEFORE)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        key = known_ingredient(here, ingredient)
        mass_g = parse_mass_g(mass, f"mass of {key}")
        if mass_g <= 0:
            raise BadInput(f"mass of {key} is nothing", hint="give what came in, such as 5 kg")
        if not supplier.strip() and not animal.strip():
            raise BadInput(f"where did this {key} come from?", mend=Mend("name_source"))
        _refuse_fat_figures(key, certificate_sv, acid_value, moisture_percent)
        stamp = here.stamp(on, note)
        low, nominal, high = _certificate(key, certificate_sv, sure=sure)
        raw_mg, notes = _raw_fat(raw_fat, mass_g)
        own = OWN_ORIGINS[1 if key in all_fats() else 0]
        if not (sure or made_from):
            _ask_of_twin(reader.ingredient_lots(key), stamp, mg_from_g(mass_g), supplier or own)
        prefix = ingredient_prefix(key, {recipe.code for recipe in reader.recipes()})
        lot = free_lot_code(writer, prefix, stamp.happened_on)
        entry = writer.receive(
            stamp,
            ReceiveFacts(
                lot_code=lot,
                ingredient=key,
                mass_mg=mg_from_g(mass_g),
                supplier=supplier.strip() or own,
                supplier_lot=supplier_lot.strip(),
                cost_cents=cents(cost),
                currency=desk.shop.currency,
                best_before=best_before,
                sv_low=low,
                sv_nominal=nominal,
                sv_high=high,
                certificate=certificate.strip(),
                animal=animal.strip(),
                raw_fat_mg=raw_mg,
                acid_value=acid_value,
                moisture_percent=moisture_percent,
                made_from=made_from,
            ),
        )
    if best_before is not None and best_before < stamp.happened_on:
        notes = (*notes, f"It was best before {best_before.isoformat()}: pours will pass it by.")
    if (days := (desk.today - stamp.happened_on).days) > LONG_AGO_DAYS:
        notes = (*notes, f"That was {days} days ago: is the year right?")
    said = f"Received {mass_words(mass_g)} of {key} as lot {lot.shown}."
    return Entered(entry_id=entry, lot_code=lot, said=said, notes=notes)


def _ask_of_twin(lots: Sequence[IngredientLot], stamp: Stamp, mass_mg: int, supplier: str) -> None:
    """Refuse what looks like one delivery entered twice: all that is known of it is the same."""
    for lot in lots:
        same = (lot.received_on, lot.mass_mg, lot.supplier)
        if same == (stamp.happened_on, mass_mg, supplier.strip()):
            raise RuleBroken(
                f"the same came that day already: {lot.lot_code.shown}, "
                f"{mass_words(g_from_mg(mass_mg))} of {lot.ingredient} from {lot.supplier}",
                hint="was it entered before?",
                mend=Mend("confirm"),
            )


def _raw_fat(text: str, mass_g: Decimal) -> tuple[int | None, tuple[str, ...]]:
    """The raw fat that went into the kettle, mg, and a note on the yield. Raises BadInput."""
    if not text:
        return None, ()
    raw_g = parse_mass_g(text, "raw fat")
    if raw_g < mass_g:
        raise BadInput(
            f"{mass_words(mass_g)} rendered from {text} of raw fat cannot be",
            hint="the mass is that of the rendered fat; the raw fat is what went into the pot",
        )
    return mg_from_g(raw_g), (f"Yield {100 * mass_g / raw_g:.0f} % of the raw fat.",)


def cents(text: str) -> int | None:
    """An amount of money as people write it, in cents; None for none. Raises BadInput."""
    if not text:
        return None
    match = re.fullmatch(r"\s*(\d{1,9})(?:\.(\d{1,2}))?\s*", text)
    if not match:
        raise BadInput(f"cost '{text}' is not an amount", hint="write it like 24.50")
    return int(match[1]) * 100 + int((match[2] or "0").ljust(2, "0"))


def _refuse_fat_figures(
    key: str, certificate_sv: str, acid_value: float | None, moisture_percent: float | None
) -> None:
    """Refuse figures that only fats have, and figures no fat has."""
    given = (certificate_sv or None, acid_value, moisture_percent)
    if key not in all_fats() and any(figure is not None for figure in given):
        raise BadInput(
            f"{key} is not a fat: it has no saponification value, acid value or moisture",
            hint="leave the three out",
        )
    if acid_value is not None and not 0 <= acid_value <= 250:
        raise BadInput(f"acid value {acid_value:g} cannot be", hint="mg KOH/g, 0 to 250")
    if moisture_percent is not None and not 0 <= moisture_percent < 50:
        raise BadInput(f"moisture {moisture_percent:g} % cannot be", hint="0 to below 50 %")


def _certificate(
    key: str, text: str, *, sure: bool
) -> tuple[float | None, float | None, float | None]:
    if not text:
        return None, None, None
    stated = read_sv(text)
    doubt = doubt_about(stated, get_fat(key).sv)
    if doubt and not sure:
        raise RuleBroken(
            f"certificate SV {text} is far from what {key} has: {doubt}",
            hint="read the certificate again",
            mend=Mend("confirm"),
        )
    return stated.low, stated.nominal, stated.high
