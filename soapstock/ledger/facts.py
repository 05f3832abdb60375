"""What goes into the ledger and what comes out of it, as plain frozen records.

Masses are whole milligrams, bars are whole bars, money is whole cents; dates are local dates and
instants are UTC. Nothing here touches a database, so every room after this one may build these.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

from soapstock.recipes.weighing import Role

Unit = Literal["mg", "bars"]
Method = Literal["tongue", "phenolphthalein", "titration", "ph"]
Verdictword = Literal["release", "hold", "reject"]
LotKind = Literal["ingredient", "batch"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """When a fact happened, when it was entered, and by whom.

    Attributes:
        happened_on: local date of the fact.
        happened_at: instant of the fact, UTC and aware, when it is known.
        entered_at: instant of entry, aware; stored in UTC.
        by: who did it, never empty.
        note: free text; the reason, for an undo.
        client_key: name the sender gave this entry; sent twice, it counts once.
        client_said: SHA-256 of what the sender said, such as a command's words. With it a key
            stands for one whole transaction; without it the facts themselves are compared.
    """

    happened_on: date
    happened_at: datetime | None = None
    entered_at: datetime
    by: str
    note: str = ""
    client_key: str | None = None
    client_said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """One thing that went into a pot: from a lot, or without one (well water).

    Attributes:
        lot_code: compact lot code, or None when it was taken from no lot.
        ingredient: ingredient key, such as `beef-tallow`.
        role: what it was for.
        mass_mg: mass used, mg.
        bars: for rebatched soap only: how many bars of that lot went in.
        place: where it was taken from; None takes it wherever the lot lies.
    """

    lot_code: str | None = None
    ingredient: str
    role: Role
    mass_mg: int
    bars: int | None = None
    place: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiveFacts:
    """An ingredient lot as it came in, bought or rendered on the farm.

    Attributes:
        lot_code: our compact lot code for it.
        mass_mg: mass received, mg, above zero.
        supplier_lot: the supplier's own lot text.
        sv_low, sv_nominal, sv_high: saponification value of the lot's certificate, mg KOH/g;
            all three or none.
        animal: reference of the animal a rendered fat came from.
        raw_fat_mg: mass of raw fat before rendering, mg.
        acid_value: mg KOH that the free acids of 1 g take; moisture_percent: water in the fat.
        made_from: lots this one was made from (a raw fat lot rendered here), for tracing.
    """

    lot_code: str
    ingredient: str
    mass_mg: int
    supplier: str = ""
    supplier_lot: str = ""
    cost_cents: int | None = None
    currency: str = ""
    best_before: date | None = None
    sv_low: float | None = None
    sv_nominal: float | None = None
    sv_high: float | None = None
    certificate: str = ""
    animal: str = ""
    raw_fat_mg: int | None = None
    acid_value: float | None = None
    moisture_percent: float | None = None
    place: str = "store"
    made_from: tuple[Use, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PourFacts:
    """One pour as it was weighed.

    Attributes:
        uses: what was taken from lots (each with a lot code).
        unlotted: what was taken from no lot, such as water (each without a lot code).
        planned_json, judgement_json: the plan and the safety verdict as the maker saw them.
        batter_mg: mass of batter in the mould, mg.
        lye_c, fats_c, peak_c, room_c: temperatures, degrees Celsius.
        room_rh: relative humidity of the room, percent.
        cooled_minutes: minutes from the lye's peak until it stood at lye_c.
    """

    lot_code: str
    recipe_code: str
    recipe_version: int
    uses: tuple[Use, ...]
    unlotted: tuple[Use, ...] = ()
    planned_json: str = ""
    judgement_json: str = ""
    batter_mg: int
    lye_c: float | None = None
    fats_c: float | None = None
    peak_c: float | None = None
    room_c: float | None = None
    room_rh: float | None = None
    trace_minutes: float | None = None
    mould: str = ""
    cooled_minutes: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLineFacts:
    """Bars of one recipe wanted."""

    recipe_code: str
    bars: int
    price_cents: int | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderFacts:
    """An order as it came in; `wanted_on` is the day it should leave."""

    order_ref: str
    customer: str
    lines: tuple[OrderLineFacts, ...]
    contact: str = ""
    destination: str = ""
    wanted_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeVersion:
    """One frozen text of a recipe; versions of a code count from 1."""

    code: str
    version: int
    text: str
    sha256: str
    added_on: date
    entry_id: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class IngredientLot:
    """An ingredient lot and what is left of it in the shop (`left_mg`)."""

    lot_code: str
    ingredient: str
    received_on: date
    supplier: str
    supplier_lot: str
    mass_mg: int
    left_mg: int
    best_before: date | None
    cost_cents: int | None
    currency: str
    sv_low: float | None
    sv_nominal: float | None
    sv_high: float | None
    animal: str
    raw_fat_mg: int | None
    certificate: str
    entry_id: int = 0
    acid_value: float | None = None
    moisture_percent: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnmouldRecord:
    """Bars out of the mould; `bars` are good ones, `rejects` come on top of them."""

    on: date
    bars: int
    rejects: int
    counted_bars: int
    counted_mass_mg: int
    by: str
    entry_id: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighRecord:
    """Mass of a counted set of bars of one lot on one day."""

    on: date
    bars: int
    mass_mg: int
    by: str
    entry_id: int
    room_c: float | None = None
    room_rh: float | None = None
    place: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TestRecord:
    """A free-alkali (or pH) test on record."""

    __test__ = False  # so that pytest does not take it for a test class

    on: date
    method: str
    passed: bool
    value: str
    by: str
    note: str
    entry_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionRecord:
    """A named person's release, hold or reject, with the reason."""

    on: date
    decision: Verdictword
    reason: str
    by: str
    entry_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ShipmentRecord:
    """Bars that left for a customer."""

    on: date
    bars: int
    customer: str
    order_ref: str
    destination: str
    from_place: str
    entry_id: int = 0
    lot_code: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchFacts:
    """Everything on record about one pour's lot; undone entries are left out.

    Attributes:
        ingredient_lots: the lots of `pour.uses`, by lot code.
        places: bars by place, zero places left out; not the pot, not the count difference.
        decisions: oldest first, so the last one stands.
    """

    lot_code: str
    recipe_code: str
    recipe_version: int
    recipe_text: str
    poured_on: date
    by: str
    entry_id: int
    pour: PourFacts
    ingredient_lots: Mapping[str, IngredientLot] = field(default_factory=dict)
    unmould: UnmouldRecord | None = None
    weigh_ins: tuple[WeighRecord, ...] = ()
    tests: tuple[TestRecord, ...] = ()
    decisions: tuple[DecisionRecord, ...] = ()
    places: Mapping[str, int] = field(default_factory=dict)
    shipments: tuple[ShipmentRecord, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryRecord:
    """One entry of the ledger as a line of history."""

    id: int
    kind: str
    happened_on: date
    entered_at: datetime
    by: str
    note: str
    undone_by: int | None
    undoes: int | None
    summary: str
    lot_code: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLine:
    """How much of one lot lies at one place; `item` is the ingredient key or the recipe code."""

    lot_code: str
    kind: LotKind
    item: str
    place: str
    unit: Unit
    quantity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRecord:
    """A place stock can be; `capacity_bars` is None where nobody said."""

    name: str
    kind: str
    capacity_bars: int | None = None
