"""Record a pour: its masses are judged, lots chosen, then everything is written at once."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.chemistry.composition import Part
from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe, free_lot_code, parsed_recipe, read_lot
from soapstock.desk.ingredients import canonical
from soapstock.enter.rebatch import Rebatched, take, with_soap
from soapstock.errors import BadInput, Mend, NotFound, RuleBroken
from soapstock.exchange.tabular import plain
from soapstock.ledger.facts import PourFacts, Use
from soapstock.recipes.pour import ActualMasses, judge_pour
from soapstock.recipes.scaled import scaled_row
from soapstock.recipes.scaling import scale
from soapstock.recipes.weighing import (
    WATER,
    Weighed,
    _role,
    check_complete,
    expected_peak_c,
    parse_weighed,
    plain_masses,
    planned_weighings,
    refuse_slips,
)
from soapstock.units import g_from_mg, mass_words, mg_from_g
from soapstock.views.poured import fat_portion
from soapstock.views.recipes import lot_saponification

if TYPE_CHECKING:
    from soapstock.chemistry.lye import FatPortion
    from soapstock.ledger.facts import IngredientLot
    from soapstock.ledger.read.reader import Reader
    from soapstock.recipes.pour import ActualMasses, PourJudgement
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import ScaledBatch, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """How the pour went; every figure may be missing."""

    lye_c: float | None = None
    fats_c: float | None = None
    peak_c: float | None = None
    room_c: float | None = None
    room_rh: float | None = None
    trace_minutes: float | None = None
    mould: str = ""
    cooled_minutes: float | None = None
    seized: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Poured:
    """What came of a pour: its lot, the judgement, and the uses by lot."""

    lot_code: LotCode
    entry_id: int
    recipe: Recipe
    version: int
    judgement: PourJudgement
    uses: tuple[Use, ...]
    batter_g: Decimal
    held: bool
    peak_c: float | None = None


def choose_lots(
    desk: Desk, lots: Sequence[IngredientLot], weighed: Weighed, day: date
) -> list[tuple[IngredientLot, int]]:
    """Which lots a weighing came from: the named one, else first expired first, split if need be.

    Raises:
        NotFound: nothing of that ingredient was in store on the day.
        RuleBroken: the named lot, or all lots together, hold less than was weighed.
    """
    wanted_mg = mg_from_g(weighed.mass_g)
    mine = [
        lot
        for lot in lots
        if lot.ingredient == canonical(weighed.ingredient)
        and lot.left_mg > 0
        and lot.received_on <= day
    ]
    if weighed.lot is not None:
        code = read_lot(desk, weighed.lot, kind="ingredient")
        mine = not_held([lot for lot in mine if lot.lot_code == code])
    else:
        mine = _without_crumbs(_unexpired(not_held(mine), weighed.ingredient, day), wanted_mg)
    have_mg = sum(lot.left_mg for lot in mine)
    if not mine:
        raise NotFound(
            f"no lot of {weighed.ingredient} in store" + (" by that code" if weighed.lot else ""),
            hint="enter it first",
            mend=Mend("receive", ingredient=weighed.ingredient),
        )
    if have_mg < wanted_mg:
        raise RuleBroken(
            f"{weighed.ingredient}: {mass_words(weighed.mass_g)} weighed but only "
            f"{mass_words(g_from_mg(have_mg))} on record in store",
            hint="check the mass and its unit, or count what is there",
            mend=Mend("count_store", lot=weighed.lot or "LOT"),
        )
    mine.sort(key=lambda lot: (lot.best_before or date.max, lot.received_on, lot.lot_code))
    taken: list[tuple[IngredientLot, int]] = []
    for lot in mine:
        part = min(lot.left_mg, wanted_mg - sum(mg for _, mg in taken))
        if part > 0 or not taken:
            taken.append((lot, part))
    return taken


CRUMB_SHARE = 1000  # of a weighing; what is left of a lot under this share is no part of it


def _without_crumbs(lots: list[IngredientLot], wanted_mg: int) -> list[IngredientLot]:
    """The lots without such as are empty but for rounding, where the others hold enough.

    A lot of 6520.39 g is used up by weighings of whole grams. Were its last 0.39 g taken first, a
    recall of that lot would reach a pot that nothing of it went into.
    """
    whole = [lot for lot in lots if lot.left_mg * CRUMB_SHARE >= wanted_mg]
    return whole if sum(lot.left_mg for lot in whole) >= wanted_mg else lots


def not_held(lots: list[IngredientLot]) -> list[IngredientLot]:
    """The lots that are not on hold. Raises RuleBroken when there are lots but none may be used."""
    free = [lot for lot in lots if not lot.hold_reason]
    if lots and not free:
        first = lots[0]
        raise RuleBroken(
            f"{first.lot_code.shown} ({first.ingredient}) is on hold: {first.hold_reason}",
            hint="take another lot, or let this one go first",
        )
    return free


def _unexpired(lots: list[IngredientLot], ingredient: str, day: date) -> list[IngredientLot]:
    """The lots not past their best-before; an expired one is used only when its lot is named."""
    fresh = [lot for lot in lots if lot.best_before is None or lot.best_before >= day]
    if lots and not fresh:
        first = lots[0]
        raise RuleBroken(
            f"{ingredient}: lot {first.lot_code.shown} was best before {first.best_before}",
            hint=f"to use it even so, name it: {ingredient}=MASS@{first.lot_code.shown}",
        )
    return fresh


def gather(
    desk: Desk,
    lots: Sequence[IngredientLot],
    recipe: Recipe,
    weighed: Sequence[Weighed],
    day: date,
) -> tuple[ActualMasses, list[Use]]:
    """The masses as weighed, with each lot's saponification value, and their uses by lot.

    Raises:
        NotFound, RuleBroken: the lots are not in store.
    """
    uses: list[Use] = []
    fats: list[FatPortion] = []
    additions: list[Part] = []
    alkali = {"naoh": 0.0, "koh": 0.0}
    water_g = 0.0
    given = {w.ingredient for w in weighed}
    unmeasured = [
        Weighed(ingredient=a.ingredient, mass_g=Decimal(0))
        for a in recipe.additions
        if a.basis == "unmeasured" and a.ingredient not in given
    ]
    for w in [*weighed, *unmeasured]:
        if w.ingredient == WATER:
            water_g += float(w.mass_g)
            uses.append(
                Use(lot_code=None, ingredient=WATER, role="liquid", mass_mg=mg_from_g(w.mass_g))
            )
            continue
        role = _role(recipe, w.ingredient)
        for lot, mg in choose_lots(desk, lots, w, day):
            uses.append(
                Use(lot_code=lot.lot_code, ingredient=lot.ingredient, role=role, mass_mg=mg)
            )
            if role == "fat":
                fats.append(fat_portion(w.ingredient, mg, lot))
        if role in alkali:
            alkali[role] += float(w.mass_g)
        elif role == "addition" and w.mass_g > 0:
            additions.append(Part(key=w.ingredient, mass_g=float(w.mass_g)))
    actual = ActualMasses(
        fats=tuple(fats),
        naoh_g=alkali["naoh"],
        koh_g=alkali["koh"],
        water_g=water_g,
        additions=tuple(additions),
    )
    return actual, uses


def planned_batch(desk: Desk, recipe: Recipe, target: Target | None) -> ScaledBatch | None:
    """The plan the pour is compared with, if the maker named one."""
    if target is None:
        return None
    return scale(
        recipe,
        target,
        scale_step_g=desk.shop.scale_step_g,
        sv=lot_saponification(desk, recipe),
        market=desk.shop.market,
    )


def pour(
    desk: Desk,
    code: str,
    weighed: Sequence[str],
    *,
    target: Target | None = None,
    as_planned: bool = False,
    conditions: Conditions | None = None,
    on: date | None = None,
    record_anyway: str = "",
    sure: bool = False,
    again: bool = False,
    note: str = "",
    rebatch: Sequence[str] = (),
) -> Poured:
    """Record a pour, after judging the masses as weighed.

    Args:
        weighed: `name=mass` or `name=mass@LOT`, one for each ingredient.
        target: the plan to compare with, if any; with as_planned, its masses stand for all that
            weighed does not give.
        record_anyway: a reason to record a refused batch that already stands in the mould; it is
            put on hold in the same transaction.
        sure: the maker says that masses far from the plan are right, and the same twice a day.
        again: another pot of the same masses is no slip: what enters it tells pots apart.
        rebatch: `LOT=BARS:MASS` for bars of earlier batches that go into the pot.

    Raises:
        RuleBroken: the judgement refuses the batch; nothing is written.
    """
    stamp = desk.stamp(on, note)
    with desk.reading() as (here, reader):
        pot = _pot(here, reader, code, weighed, target, as_planned=as_planned)
    # The lye is judged before the stock: a slip of unit must not hide behind a short lot.
    unlotted = _judged(desk, pot, plain_masses(pot.recipe, pot.given))
    refuse_slips(unlotted, record_anyway=record_anyway, sure=sure)
    # Lots are chosen where they are taken, so that none is empty by then.
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        day = stamp.happened_on
        actual, uses = gather(here, reader.ingredient_lots(), pot.recipe, pot.given, day)
        judgement = _judged(here, pot, actual)
        refuse_slips(judgement, record_anyway=record_anyway, sure=sure)
        soap = take(here, rebatch, day)
        uses += [one.use for one in soap]
        judgement = with_soap(judgement, soap)
        lot = free_lot_code(reader, pot.recipe.code, day)
        if not (sure or again):
            _ask_of_twin(reader, lot, uses)
        facts = _facts(lot, pot, uses, judgement_record(judgement, soap), conditions)
        entry = writer.pour(stamp, facts)
        refused = judgement.verdict.word == "refuse"
        if refused:
            writer.decide(stamp, lot, "hold", f"lye refused at pour: {record_anyway.strip()}")
    return Poured(
        lot_code=lot,
        entry_id=entry,
        recipe=pot.recipe,
        version=pot.version,
        judgement=judgement,
        uses=tuple(uses),
        batter_g=facts.batter_g,
        held=refused,
        peak_c=expected_peak_c(pot.recipe, actual),
    )


def _ask_of_twin(reader: Reader, lot: LotCode, uses: Sequence[Use]) -> None:
    """Refuse what looks like one pour entered twice: the same masses of the same on one day."""
    masses = Counter((use.ingredient, use.mass_mg) for use in uses)
    that_day = [code for code in reader.codes_ever_used() if code.startswith(lot[:-2])]
    for batch in reader.batches(that_day):
        before = (*batch.pour.uses, *batch.pour.unlotted)
        if Counter((use.ingredient, use.mass_mg) for use in before) == masses:
            raise RuleBroken(
                f"the same masses were poured that day already: {batch.lot_code.shown}",
                hint="was it entered before?",
                mend=Mend("confirm"),
            )


def judge_masses(
    desk: Desk, code: str, weighed: Sequence[str], *, target: Target | None = None
) -> PourJudgement:
    """What the masses as weighed mean, before anything is written; as `pour` takes them.

    Raises:
        BadInput: a mass is missing or not understood.
    """
    with desk.reading() as (here, reader):
        pot = _pot(here, reader, code, weighed, target, as_planned=False)
    return _judged(desk, pot, plain_masses(pot.recipe, pot.given))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pot:
    """What was weighed for a pour, and the plan it is compared with, before lots are chosen."""

    recipe: Recipe
    version: int
    others: tuple[Recipe, ...]
    plan: ScaledBatch | None
    given: tuple[Weighed, ...]


def _pot(
    desk: Desk,
    reader: Reader,
    code: str,
    weighed: Sequence[str],
    target: Target | None,
    *,
    as_planned: bool,
) -> _Pot:
    recipe, version = find_recipe(reader, code)
    refuse_retired(reader, recipe.code)
    plan = planned_batch(desk, recipe, target)
    given = [parse_weighed(text, recipe, canonical) for text in weighed]
    if as_planned:
        if plan is None:
            raise BadInput("there is no plan to take masses from", mend=Mend("choose_target"))
        names = {w.ingredient for w in given}
        given += [w for w in planned_weighings(plan) if w.ingredient not in names]
    check_complete(recipe, given)
    return _Pot(
        recipe=recipe,
        version=version,
        others=tuple(parsed_recipe(r.text, f"recipe {r.code}") for r in reader.recipes()),
        plan=plan,
        given=tuple(w for w in given if w.mass_g),
    )


def refuse_retired(reader: Reader, code: str) -> None:
    """Raise RuleBroken when the recipe is retired."""
    why = reader.recipe(code).retired
    if why:
        raise RuleBroken(f"recipe {code} is retired: {why}", mend=Mend("take_up", recipe=code))


def _judged(desk: Desk, pot: _Pot, masses: ActualMasses) -> PourJudgement:
    return judge_pour(
        pot.recipe,
        masses,
        pot.plan,
        scale_step_g=desk.shop.scale_step_g,
        others=pot.others,
        market=desk.shop.market,
    )


def _facts(
    lot: LotCode,
    pot: _Pot,
    uses: Sequence[Use],
    judgement: Mapping[str, object],
    conditions: Conditions | None,
) -> PourFacts:
    return PourFacts(
        lot_code=lot,
        recipe_code=pot.recipe.code,
        recipe_version=pot.version,
        uses=tuple(use for use in uses if use.lot_code is not None),
        unlotted=tuple(use for use in uses if use.lot_code is None),
        planned_json=json.dumps(plain(scaled_row(pot.plan))) if pot.plan else "",
        judgement_json=json.dumps(judgement),
        batter_mg=sum(use.mass_mg for use in uses),
        **asdict(conditions or Conditions()),
    )


def judgement_record(judgement: PourJudgement, soap: Sequence[Rebatched] = ()) -> dict[str, object]:
    """The judgement as kept with the pour; `doubted` only where rebatched soap is in doubt."""
    doubted = [f"{one.use.lot_shown}: {one.doubt}" for one in soap if one.doubt]
    return ({"doubted": doubted} if doubted else {}) | {
        "verdict": judgement.verdict.word,
        "reasons": list(judgement.verdict.reasons),
        "superfat_percent": judgement.superfat.as_dict(),
        "slip": judgement.slip,
        "differences": list(judgement.differences),
    }
