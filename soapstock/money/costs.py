"""How a shop counts what it wrote no cost down for: its own fat, its time, packing and energy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Literal

from soapstock.money.share import apportion
from soapstock.units import g_from_mg, kilograms

OwnFat = Literal["unsaid", "nothing", "bought", "sold", "animal"]
OWN_ORIGINS = ("own animal", "own rendering")  # who supplied a lot that came from the farm itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Animal:
    """What an animal cost to raise or buy, and the percent of it that its fat is to carry."""

    cost: Decimal
    percent: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """A shop's settings of cost; amounts in its currency.

    Attributes:
        own_fat: how fat from the farm counts when its lot has no cost of its own: `nothing`; what
            it costs `bought`, or what it would have fetched `sold` (a kg, in `fat_kg`); a share of
            its `animal`; `unsaid` leaves it out and names it.
        fat_kg: amount a kg, by ingredient as received: raw fat and rendered fat apart.
        animals: by the reference given with the fat.
        hour: what an hour of the maker's own work counts for; None leaves work out of the cost.
        minutes_pour, minutes_bar: work on a batch of which none is on record: on it whole, from
            fat to wiping up, and on each good bar.
        energy_pour, packing_bar: where none is on record.
        kept_carry: bars kept back carry a share of the batch's cost.
        wage: what the maker wants to earn an hour.
    """

    own_fat: OwnFat = "unsaid"
    fat_kg: Mapping[str, Decimal] = field(default_factory=dict)
    animals: Mapping[str, Animal] = field(default_factory=dict)
    hour: Decimal | None = None
    minutes_pour: Decimal = Decimal(0)
    minutes_bar: Decimal = Decimal(0)
    energy_pour: Decimal = Decimal(0)
    packing_bar: Decimal = Decimal(0)
    kept_carry: bool = False
    wage: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLot:
    """A lot of fat from the farm that has no cost of its own.

    Attributes:
        raw_mg: the raw fat it was rendered from, or its own mass when it is raw, mg.
    """

    id: int
    ingredient: str
    mass_mg: int
    raw_mg: int
    animal: str


def in_cents(value: Decimal) -> int:
    """An amount in whole cents, half to even."""
    return int((value * 100).quantize(Decimal(1), rounding=ROUND_HALF_EVEN))


def value_own(costs: Costs, lots: Iterable[OwnLot]) -> dict[int, int | None]:
    """What the farm's own lots count for, in cents; None where the settings do not say.

    `sold` is how a by-product is measured, at what it would have fetched; a share of an animal is
    a joint cost shared on a rational and consistent basis (IAS 2 paragraph 14, 2003, from memory),
    here spread over its lots by the mass of their raw fat, a physical measure.
    """
    every = list(lots)
    if costs.own_fat == "animal":
        return _by_animal(costs, every)
    return {lot.id: _by_kg(costs, lot) for lot in every}


def _by_kg(costs: Costs, lot: OwnLot) -> int | None:
    if costs.own_fat == "nothing":
        return 0
    a_kg = costs.fat_kg.get(lot.ingredient)
    if costs.own_fat == "unsaid" or a_kg is None:
        return None
    return in_cents(a_kg * kilograms(g_from_mg(lot.mass_mg)))


def _by_animal(costs: Costs, lots: list[OwnLot]) -> dict[int, int | None]:
    of_animal: dict[str, list[OwnLot]] = defaultdict(list)
    for lot in lots:
        of_animal[lot.animal].append(lot)
    found: dict[int, int | None] = {}
    for name, its in of_animal.items():
        animal = costs.animals.get(name)
        if animal is None:
            found |= dict.fromkeys((lot.id for lot in its), None)
            continue
        carried = in_cents(animal.cost * animal.percent / 100)
        shares = apportion(carried, [lot.raw_mg for lot in its])
        found |= {lot.id: cents for lot, cents in zip(its, shares, strict=True)}
    return found
