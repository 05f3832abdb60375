"""A recipe worked out as written, in unrounded grams, before it is scaled."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.liquids import liquids
from soapstock.chemistry.lye import FatPortion, Lye, alkali_needed_g
from soapstock.chemistry.takers import lye_takers, takes_lye
from soapstock.errors import BadInput
from soapstock.recipes.moulds import batter_density_g_ml
from soapstock.recipes.recipe import Addition, Recipe

COUNTED_SLACK = 0.02  # of the water: liquids that miss the rule by less fill it
BASIS_FAT_G = 1000.0  # a recipe by shares is worked out on 1 kg of fats


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """The recipe as its file has it (by shares: on 1 kg of fats), g."""

    fats: dict[str, float]
    naoh_g: float
    koh_g: float
    water_g: float
    additions: tuple[tuple[Addition, float | None], ...]

    @property
    def fat_g(self) -> float:
        """All fats, g."""
        return sum(self.fats.values())

    @property
    def batch_g(self) -> float:
        """Everything measured, g."""
        solution = self.naoh_g + self.koh_g + self.water_g
        return self.fat_g + solution + sum(mass or 0.0 for _, mass in self.additions)

    @property
    def density_g_ml(self) -> float:
        """Density of the fresh batter, g/mL."""
        return batter_density_g_ml(
            fat_g=self.fat_g, alkali_g=self.naoh_g + self.koh_g, water_g=self.water_g
        )


def write_out(recipe: Recipe, sv: Mapping[str, Interval]) -> Written:
    """The recipe's masses as written, with the lye its rule asks at these saponification values.

    Raises:
        BadInput: a recipe with neither a rule nor stated masses for lye or water.
    """
    fats = {
        fat.fat: float(fat.mass_g)
        if fat.mass_g is not None
        else BASIS_FAT_G * (fat.share_percent or 0.0) / 100.0
        for fat in recipe.fats
    }
    fat_g = sum(fats.values())
    if recipe.as_written is not None:
        naoh, koh = float(recipe.as_written.naoh_g), float(recipe.as_written.koh_g)
        water = float(recipe.as_written.water_g)
    else:
        takers = takers_by_rule(recipe, fat_g, factor=1.0)
        naoh, koh = lye_by_rule(recipe, (*portions_of(fats, sv), *takers))
        water = plain_water_g(recipe, fat_g, naoh + koh, factor=1.0)
    core = fat_g + naoh + koh + water
    additions = tuple((one, addition_g(one, fat_g, core)) for one in recipe.additions)
    return Written(fats=fats, naoh_g=naoh, koh_g=koh, water_g=water, additions=additions)


def sv_in_use(recipe: Recipe, sv: Mapping[str, Interval] | None) -> dict[str, Interval]:
    """Saponification value of each fat of the recipe: the given one, else the table's."""
    given = sv or {}
    return {one.fat: given.get(one.fat, get_fat(one.fat).sv) for one in recipe.fats}


def portions_of(
    fats: Mapping[str, Decimal] | Mapping[str, float], sv: Mapping[str, Interval]
) -> tuple[FatPortion, ...]:
    """Fat portions of masses by key, g."""
    return tuple(FatPortion(fat=k, mass_g=float(m), sv=sv[k]) for k, m in fats.items())


def lye_of(recipe: Recipe, naoh_g: Decimal | float, koh_g: Decimal | float) -> Lye:
    """The alkali as weighed, g, with the recipe's assay.

    Ready lye is weighed as the solution that holds `naoh_g`, and its strength is its assay.
    """
    ready = recipe.lye.ready_percent
    weighed_g = float(naoh_g) if ready is None else float(naoh_g) * 100.0 / ready.nominal
    return Lye(
        naoh_g=weighed_g,
        koh_g=float(koh_g),
        naoh_assay_percent=ready or recipe.lye.naoh_assay,
        koh_assay_percent=recipe.lye.koh_assay,
    )


def water_of_ready_lye_g(recipe: Recipe, naoh_g: float) -> float:
    """Water in the ready lye that holds so much NaOH, g; 0 with dry lye."""
    ready = recipe.lye.ready_percent
    return 0.0 if ready is None else naoh_g * (100.0 / ready.nominal - 1.0)


def lye_needed(
    recipe: Recipe, portions: Sequence[FatPortion], superfat: float, naoh_share: float
) -> tuple[float, float]:
    """NaOH and KOH, g, at the recipe's assay for a superfat, %; of ready lye the NaOH inside it."""
    ready = recipe.lye.ready_percent is not None
    return alkali_needed_g(
        portions,
        superfat,
        naoh_share=naoh_share,
        naoh_assay_percent=100.0 if ready else recipe.lye.naoh_assay.nominal,
        koh_assay_percent=recipe.lye.koh_assay.nominal,
    )


def naoh_share_of(recipe: Recipe) -> float:
    """Fraction 0-1 of the alkali, by moles, that is NaOH: by rule, or of the stated masses."""
    if recipe.as_written is None:
        return recipe.lye.naoh_share
    sodium = lye_of(recipe, recipe.as_written.naoh_g, 0).equivalents().nominal
    both = lye_of(recipe, recipe.as_written.naoh_g, recipe.as_written.koh_g).equivalents().nominal
    return sodium / both


def lye_by_rule(recipe: Recipe, portions: Sequence[FatPortion]) -> tuple[float, float]:
    """NaOH and KOH, g, that the recipe's superfat asks of these fats. Raises BadInput."""
    if recipe.superfat_percent is None:
        raise BadInput(f"recipe {recipe.code} has neither a superfat nor a stated lye")
    return lye_needed(recipe, portions, recipe.superfat_percent, recipe.lye.naoh_share)


def water_by_rule(recipe: Recipe, fat_g: float, alkali_g: float) -> float:
    """Water, g, that the recipe's rule asks. Raises BadInput when it has none."""
    if recipe.water is None:
        raise BadInput(f"recipe {recipe.code} has neither a water rule nor a stated water")
    return recipe.water.water_g(fat_g, alkali_g)


def counted_water_g(recipe: Recipe, additions_g: Mapping[str, float]) -> float:
    """Water, g, inside the liquids that the recipe counts as part of its water; else 0."""
    if recipe.water is None or not recipe.water.liquids_count:
        return 0.0
    known = liquids()
    return sum(
        known[one.ingredient].water_g(additions_g.get(one.ingredient, 0.0))
        for one in recipe.additions
        if one.stage == "lye" and one.ingredient in known
    )


def plain_water_g(recipe: Recipe, fat_g: float, alkali_g: float, *, factor: float) -> float:
    """Plain water, g, that the rule asks beside the counted liquids.

    Args:
        recipe: the recipe.
        fat_g: all fats, g.
        alkali_g: NaOH and KOH, g.
        factor: times the recipe as written, for liquids stated by mass.

    Raises:
        BadInput: no rule; a counted liquid by share of the batch; or liquids that bring more water
            than the rule asks.
    """
    total = water_by_rule(recipe, fat_g, alkali_g)
    if recipe.water is None or not recipe.water.liquids_count:
        return total
    masses = _known_g(recipe, lambda key: key in liquids(), fat_g, factor)
    rest = total - counted_water_g(recipe, masses)
    if rest < -total * COUNTED_SLACK:
        raise BadInput(
            f"recipe {recipe.code}: its liquids bring {-rest:.0f} g more water than its rule asks",
            hint="use less of the liquid, or more water",
        )
    return max(rest, 0.0)


def takers_by_rule(recipe: Recipe, fat_g: float, *, factor: float) -> tuple[FatPortion, ...]:
    """The additions that take lye (acids, milks), for so much fat, g.

    Args:
        recipe: the recipe.
        fat_g: all fats, g.
        factor: times the recipe as written, for additions stated by mass.

    Raises:
        BadInput: one is stated by share of the batch, which the lye is part of.
    """
    return lye_takers(_known_g(recipe, takes_lye, fat_g, factor))


def _known_g(
    recipe: Recipe, wanted: Callable[[str], bool], fat_g: float, factor: float
) -> dict[str, float]:
    """Masses of additions that the lye or the water follows, g, before either is known."""
    masses: dict[str, float] = {}
    for one in recipe.additions:
        if not wanted(one.ingredient):
            continue
        if one.basis == "percent_of_batch":
            raise BadInput(
                f"recipe {recipe.code}: the lye and the water follow {one.ingredient}, so its "
                "share of the batch has no answer",
                hint="give it as percent_of_fats or mass",
            )
        mass = addition_g(one, fat_g, 0.0) or 0.0
        mass *= factor if one.basis == "mass" else 1.0
        masses[one.ingredient] = masses.get(one.ingredient, 0.0) + mass
    return masses


def addition_g(addition: Addition, fat_g: float, core_g: float) -> float | None:
    """Mass of an addition, g, for this much fat and this much fat, lye and water together."""
    if addition.amount is None:
        return None
    amount = float(addition.amount)
    if addition.basis == "percent_of_fats":
        return fat_g * amount / 100.0
    if addition.basis == "percent_of_batch":
        return core_g * amount / 100.0
    return amount
