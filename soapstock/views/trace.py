"""The memory of the pot: when its fats begin to set, and how soon it traces by the shop's pots."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from soapstock.chemistry.fats import all_fats
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.setting import Setting, begins_to_set
from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe, parsed_recipe
from soapstock.recipes.scaling import Target, scale
from soapstock.units import degrees, several
from soapstock.views.poured import actual_masses
from soapstock.views.recipes import lot_saponification
from soapstock.views.words import NOT_KNOWN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from soapstock.ledger.facts import BatchFacts
    from soapstock.planning.trace import Pot


@dataclass(frozen=True, slots=True, kw_only=True)
class PotMemory:
    """What is known of a pot before it is mixed.

    Attributes:
        setting: where its fats begin to set, C; None when no table says.
        trace_minutes: minutes to trace, 90 % sure; None while the shop's pots do not say.
        temp_c: the temperature that is for; None for what is usual here.
        timed, seized: pots of the shop that teach it.
    """

    setting: Setting | None
    trace_minutes: Interval | None
    temp_c: float | None
    timed: int
    seized: int


@one_snapshot
def pot_memory(desk: Desk, code: str, *, temp_c: float | None = None) -> PotMemory:
    """What is known of the next pot of a recipe.

    Args:
        temp_c: lye and fats when they meet, C.

    Raises:
        NotFound: no such recipe.
    """
    from decimal import Decimal

    from soapstock.labelling.gather import smells
    from soapstock.planning.trace import Pot

    with desk.ledger.read() as reader:
        recipe, _ = find_recipe(reader, code)
        batches = reader.batches()
    scaled = scale(
        recipe,
        Target(total_fat_g=Decimal(1000)),
        scale_step_g=Decimal("0.1"),
        sv=lot_saponification(desk, recipe),
        market=desk.shop.market,
    )
    like = Pot(
        recipe=recipe.code,
        scents=tuple(a.ingredient for a in recipe.additions if smells(a.ingredient, a.label_name)),
        temp_c=temp_c,
        lye_percent=scaled.lye_concentration_percent,
    )
    masses = {line.ingredient: float(line.mass_g) for line in scaled.fats}
    return _memory(pots_of(batches), like, masses)


def _memory(pots: Sequence[Pot], like: Pot, fats_g: dict[str, float]) -> PotMemory:
    from soapstock.planning.trace import minutes_to_trace

    return PotMemory(
        setting=begins_to_set(all_fats(), fats_g),
        trace_minutes=minutes_to_trace(pots, like),
        temp_c=like.temp_c,
        timed=sum(pot.minutes is not None and not pot.seized for pot in pots),
        seized=sum(pot.seized for pot in pots),
    )


def pots_of(batches: Sequence[BatchFacts]) -> list[Pot]:
    """The shop's pots as the trace is learnt from them."""
    return [_pot(facts) for facts in batches]


def _pot(facts: BatchFacts) -> Pot:
    from soapstock.labelling.gather import scents_of
    from soapstock.planning.trace import Pot

    actual = actual_masses(facts)
    recipe = parsed_recipe(facts.recipe_text, facts.lot_code.shown)
    lye_g = float(actual.naoh_g + actual.koh_g)
    pour = facts.pour
    temps = [t for t in (pour.lye_c, pour.fats_c) if t is not None]
    return Pot(
        recipe=facts.recipe_code,
        scents=tuple(sorted(scents_of(actual, recipe, {}))),
        temp_c=sum(temps) / len(temps) if temps else None,
        lye_percent=100.0 * lye_g / (lye_g + float(actual.water_g)) if lye_g else 33.0,
        minutes=pour.trace_minutes,
        seized=pour.seized,
    )


@one_snapshot
def after_pour(desk: Desk, lot: LotCode) -> list[str]:
    """What is to be noted of a pot just poured beside the shop's earlier ones, in sentences."""
    with desk.ledger.read() as reader:
        batches = reader.batches()
    mine = next(b for b in batches if b.lot_code == lot)
    pot = _pot(mine)
    earlier = pots_of([b for b in batches if b.entry_id < mine.entry_id])
    fats_g = {u.ingredient: float(u.mass_g) for u in mine.pour.uses if u.role == "fat"}
    found = _memory(earlier, replace(pot, minutes=None, seized=False), fats_g)
    notes = []
    if (setting := found.setting) is not None and mine.pour.fats_c is not None:
        if mine.pour.fats_c < (setting.low_c + setting.high_c) / 2.0:
            notes.append(
                f"The fats met the lye at {degrees(mine.pour.fats_c)}; they begin to set "
                f"between {degrees(setting.high_c)} and "
                f"{degrees(setting.low_c)}: what "
                f"thickens then may be fat, not trace."
            )
    if pot.minutes is not None or pot.seized:
        notes.append(_beside(pot, found.trace_minutes))
    return notes


def _beside(pot: Pot, usual: Interval | None) -> str:
    """How quick a pot was beside what was expected of it."""
    if pot.seized:
        what = "It seized" if pot.minutes is None else f"It seized after {pot.minutes:.0f} min"
    else:
        what = f"Trace after {pot.minutes:.0f} min"
    if usual is None:
        return f"{what}; what is usual is {NOT_KNOWN}."
    span = f"{usual.low:.0f} to {usual.high:.0f} min by your pots"
    if pot.seized or (pot.minutes or 0.0) < usual.low:
        return f"{what}: faster than usual ({span})."
    if (pot.minutes or 0.0) > usual.high:
        return f"{what}: slower than usual ({span})."
    return f"{what}: as usual ({span})."


def memory_words(found: PotMemory) -> list[str]:
    """The same in sentences."""
    words = []
    setting = found.setting
    if setting is None:
        words.append("When its fats begin to set is not known: no melting range of them is.")
    else:
        words.append(
            f"Its fats begin to set somewhere between {setting.high_c:.0f} and "
            f"{degrees(setting.low_c)} as they cool, {setting.by} first; above "
            f"{degrees(setting.high_c)} none of them does."
        )
        if setting.unknown:
            words.append(f"No melting range is known of {', '.join(setting.unknown)}.")
    at = "" if found.temp_c is None else f" at {degrees(found.temp_c)}"
    seized = f", {found.seized} of them seized" if found.seized else ""
    if (usual := found.trace_minutes) is None:
        said = several(found.timed, "pot")
        words.append(f"Minutes to trace{at}: {NOT_KNOWN} ({said} timed{seized}).")
    else:
        words.append(
            f"Trace{at} after about {usual.nominal:.0f} min, {usual.low:.0f} to {usual.high:.0f} "
            f"(90 % sure), by {several(found.timed + found.seized, 'pot')} of yours{seized}."
        )
    return words
