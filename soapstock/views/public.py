"""What anyone may know of a lot: what its page behind the code on the bar says.

Nothing of customers, suppliers, prices, people or notes is read into these records, so that no page
made of them can tell it. A lot has a page once it was released; what is on hold or rejected says
only that, unless it had been released before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from soapstock.codes.lot import LotCode
from soapstock.desk.finding import parsed_recipe, read_lot
from soapstock.errors import RuleBroken, SoapstockError
from soapstock.exchange.public_page import Photo, PublicLot, PublicRecall, Stands
from soapstock.labelling.claims import check_claims, in_words, must_mend
from soapstock.labelling.law import get_market, market_on
from soapstock.labelling.names import name_of
from soapstock.labelling.netweight import net_weight
from soapstock.labelling.precautions import precautions_on
from soapstock.labelling.words import label_language
from soapstock.ledger.facts import RecallNotice
from soapstock.units import g_from_mg
from soapstock.views.batch import views
from soapstock.views.label import declaration_of
from soapstock.views.orders import still_wanted
from soapstock.views.poured import as_poured, free_alkali, keeping_of

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.ledger.facts import BatchFacts, ShipmentRecord
    from soapstock.ledger.read.reader import Reader
    from soapstock.shop import Shop
    from soapstock.views.poured import Poured


@dataclass(frozen=True, slots=True, kw_only=True)
class Public:
    """Everything the public pages are made of, and what keeps a lot from having one."""

    lots: tuple[PublicLot, ...]
    recalls: tuple[PublicRecall, ...]
    left_out: tuple[str, ...]


def public(
    desk: Desk,
    lots: Collection[str] | None = None,
    recalls: tuple[PublicRecall, ...] | None = None,
) -> Public:
    """What may be told of every lot, or of some.

    Args:
        lots: only these lot codes; the recalls are told whole all the same.
        recalls: in place of those on record.
    """
    with desk.reading() as (here, reader):
        recalls = recalls_if(here, reader) if recalls is None else recalls
        told, left_out = list[PublicLot](), dict[str, None]()
        for facts in reader.batches(lots):
            reached = tuple(r.key for r in recalls if any(c == facts.lot_code for c, _ in r.lots))
            try:
                one = _public_lot(here, facts, reached)
            except SoapstockError as err:
                left_out[f"{facts.lot_code.shown}: {err.message}"] = None
                continue
            if one is not None:
                told.append(_with_photo(one, reader) if here.shop.pages.photo else one)
    return Public(lots=tuple(told), recalls=recalls, left_out=tuple(left_out))


def _with_photo(lot: PublicLot, reader: Reader) -> PublicLot:
    """The lot with its last photo, if all of it is told and there is one."""
    last = reader.photos(lot.code)[-1:] if lot.whole else []
    return replace(
        lot,
        photo=next(
            (Photo(key=p.entry_id, width=p.width, height=p.height, sha256=p.sha256) for p in last),
            None,
        ),
    )


def recalls_if(desk: Desk, reader: Reader, lot: str | None = None) -> tuple[PublicRecall, ...]:
    """Every recall in earnest, oldest first, with all that was made of its lot.

    Args:
        lot: one that is taken as recalled today besides; any form of its code.
    """
    notices = reader.recalls()
    if lot is not None:
        code = read_lot(desk, lot)
        notices.append(RecallNotice(lot_code=code, on=desk.today, hazard="", remedy="", entry_id=0))
    return tuple(_public_recall(reader, notice) for notice in notices)


def free_bars(desk: Desk) -> list[tuple[str, str, int]]:
    """Code and name of each variety with the bars that may be sold today and nobody waits for."""
    with desk.reading() as (here, reader):
        stock = [item for item in views(here, in_stock=True) if item.readiness.state == "ready"]
        waiting = reader.orders(open_only=True)
        sent = sorted({lot for order in waiting for lot in order.shipped})
        lot_recipe = {b.lot_code: b.recipe_code for b in reader.batches(sent)}
    free: Counter[str] = Counter()
    names: dict[str, str] = {}
    for item in stock:
        if item.best_before is None or item.best_before >= here.today:
            free[item.facts.recipe_code] += item.bars
            names[item.facts.recipe_code] = item.recipe.name
    for order in waiting:
        free.subtract(still_wanted(order, lot_recipe))
    return [(code, names[code], max(0, free[code])) for code in sorted(names)]


def _public_recall(reader: Reader, notice: RecallNotice) -> PublicRecall:
    found = reader.recall(notice.lot_code)
    batches = reader.batches([a.lot.lot_code for a in found.affected])
    sent: list[ShipmentRecord] = [s for b in batches for s in b.shipments]
    return PublicRecall(
        key=notice.entry_id,
        on=notice.on,
        hazard=notice.hazard,
        remedy=notice.remedy,
        lots=tuple((b.lot_code, _name_of(b)) for b in batches),
        bars=sum(s.bars for s in sent),
        first=min((s.on for s in sent), default=None),
        last=max((s.on for s in sent), default=None),
    )


def _name_of(facts: BatchFacts) -> str:
    return parsed_recipe(facts.recipe_text, f"recipe {facts.recipe_code}").name


def how_it_stands(facts: BatchFacts, *, recalled: bool) -> tuple[Stands | None, bool]:
    """How a lot stands to the public, and whether it was ever released; None: it has no page."""
    released = any(d.decision == "release" for d in facts.decisions)
    if recalled:
        return "recalled", released
    last = facts.decisions[-1].decision if facts.decisions else None
    if last == "reject":
        return "rejected", released
    if last == "hold" or (released and free_alkali(facts)[0] is False):
        return "held", released
    return ("for sale", True) if released else (None, False)


def _public_lot(desk: Desk, facts: BatchFacts, recalls: tuple[int, ...]) -> PublicLot | None:
    stands, released = how_it_stands(facts, recalled=bool(recalls))
    if stands is None:
        return None
    poured = as_poured(desk, facts)
    recipe = poured.recipe
    claimed = _claims(recipe.name, recipe.identity, desk.shop.market)
    if claimed and stands == "for sale":
        raise RuleBroken(claimed)
    bare = PublicLot(
        code=facts.lot_code,
        recipe_code=facts.recipe_code,
        gtin=desk.shop.gtin_for(facts.recipe_code),
        name=recipe.name,
        identity=recipe.identity,
        stands=stands,
        whole=released,
        made_on=facts.poured_on,
        recalls=recalls,
    )
    return _told(desk, poured, bare) if released else bare


@lru_cache(maxsize=512)
def _claims(name: str, identity: str, market: str) -> str:
    """What the words on every page of a variety claim, in one sentence; empty for nothing."""
    return " ".join(in_words(hit) for hit in must_mend(check_claims(f"{name}. {identity}", market)))


def _told(desk: Desk, poured: Poured, bare: PublicLot) -> PublicLot:
    facts, recipe, shop = poured.facts, poured.recipe, desk.shop
    market = market_on(shop.market, desk.today)
    language = label_language(market.languages, page_languages(shop)[0])
    listed = declaration_of(desk, poured, language=language)
    precautions = precautions_on(
        recipe.precautions, listed.allergens, market, desk.today, language.split("-")
    )
    declared = recipe.declared_weight_g
    return replace(
        bare,
        ingredients=listed.text,
        net="" if declared is None else net_weight(declared, shop.market, desk.today).text,
        precautions=precautions.text,
        released_on=next(d.on for d in facts.decisions if d.decision == "release"),
        best_before=keeping_of(desk, poured)[0],
        farm_fats=_farm_fats(facts) if shop.pages.farm_fat else (),
        curve=_curve(facts),
    )


def page_languages(shop: Shop) -> tuple[str, ...]:
    """The languages of the pages: the shop's choice, else those of its market's first label."""
    return shop.pages.languages or tuple(get_market(shop.market).languages[0].split("-"))


def _farm_fats(facts: BatchFacts) -> tuple[str, ...]:
    """Plain names of the fats in the pot that the farm rendered from raw fat."""
    lots: Mapping[LotCode, object] = facts.ingredient_lots
    found = dict[str, None]()
    for use in facts.pour.uses:
        lot = facts.lot_of(use)
        if use.role == "fat" and lot is not None and lot.raw_fat_mg and use.lot_code in lots:
            found[name_of(use.ingredient, style="plain").lower()] = None
    return tuple(found)


def _curve(facts: BatchFacts) -> tuple[tuple[int, float], ...]:
    out = facts.unmould
    if out is None:
        return ()
    first = ((out.on - facts.poured_on).days, float(out.bar_g))
    weighed = (
        ((w.on - facts.poured_on).days, float(g_from_mg(w.mass_mg) / w.bars))
        for w in facts.weigh_ins
    )
    return (first, *weighed)
