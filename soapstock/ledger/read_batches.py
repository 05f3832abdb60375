"""Reading batches whole: a fixed number of queries however many batches there are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, Connection, bindparam, func, select

from soapstock.errors import NotFound, RuleBroken
from soapstock.ledger.facts import (
    BatchFacts,
    DecisionRecord,
    IngredientLot,
    PourFacts,
    ShipmentRecord,
    TestRecord,
    UnmouldRecord,
    Use,
    WeighRecord,
)
from soapstock.ledger.models import (
    DECISION,
    ENTRY,
    FIGURE,
    LOT,
    MOVEMENT,
    POSTING,
    POUR,
    RECEIPT,
    RECIPE,
    TEST,
    UNMOULD,
    USE,
    WEIGH,
)
from soapstock.ledger.queries import live, many_records, not_undone

HIDDEN_PLACES = ("pot", "count-difference", "supplier")
OPEN_PLACES = ("customer", "waste", "retained", *HIDDEN_PLACES)
MANY = 400  # above it, lots are chosen in Python: a longer IN list costs more than it saves


class BatchReader:
    """Reads of ingredient lots and batches."""

    def __init__(self, connection: Connection) -> None:
        self.db = connection

    def ingredient_lots(self, ingredient: str | None = None) -> list[IngredientLot]:
        """Ingredient lots not undone, earliest best-before first, then oldest."""
        only = None if ingredient is None else RECEIPT.c.ingredient == ingredient
        lots = self._ingredient_lots(only).values()
        return sorted(lots, key=lambda lot: (lot.best_before is None, lot.best_before or
                                             lot.received_on, lot.entry_id))  # fmt: skip

    def ingredient_lot(self, code: str) -> IngredientLot:
        """One ingredient lot. Raises NotFound."""
        for lot in self._ingredient_lots(LOT.c.code == code).values():
            return lot
        raise NotFound(f"no ingredient lot {code}", hint="list them: soapstock stock")

    def _ingredient_lots(self, only: ColumnElement[bool] | None) -> dict[int, IngredientLot]:
        query = (
            select(RECEIPT, LOT.c.code, ENTRY.c.happened_on)
            .join(LOT, LOT.c.id == RECEIPT.c.entry_id)
            .join(ENTRY, ENTRY.c.id == RECEIPT.c.entry_id)
            .where(not_undone(RECEIPT.c.entry_id))
        )
        left = (
            select(POSTING.c.lot_id, func.sum(POSTING.c.quantity))
            .where(
                POSTING.c.unit == "mg",
                POSTING.c.place.not_in((*OPEN_PLACES, "mould", "returned")),
            )
            .group_by(POSTING.c.lot_id)
        )
        if only is not None:
            query = query.where(only)
            chosen = select(RECEIPT.c.entry_id).join(LOT, LOT.c.id == RECEIPT.c.entry_id)
            left = left.where(POSTING.c.lot_id.in_(chosen.where(only)))
        else:
            left = left.where(
                POSTING.c.lot_id.in_(select(LOT.c.id).where(LOT.c.kind == "ingredient"))
            )
        held = {lot_id: int(quantity) for lot_id, quantity in self.db.execute(left)}
        known = select(FIGURE).join(RECEIPT, RECEIPT.c.entry_id == FIGURE.c.entry_id)
        if only is not None:
            known = known.join(LOT, LOT.c.id == RECEIPT.c.entry_id).where(only)
        figures: dict[int, dict[str, float]] = defaultdict(dict)
        for row in self.db.execute(known):
            figures[row.entry_id][row.name] = float(row.value)
        return {
            row.entry_id: _ingredient_lot(
                row, held.get(row.entry_id, 0), figures.get(row.entry_id, {})
            )
            for row in self.db.execute(query)
        }

    def cooling_minutes(self) -> dict[int, float]:
        """Minutes from the lye's peak to its temperature at pour, by the pour's entry."""
        query = select(FIGURE).where(FIGURE.c.name == "cooled_minutes")
        return {row.entry_id: float(row.value) for row in self.db.execute(query)}

    def batch(self, lot: str) -> BatchFacts:
        """Everything on record about one batch.

        Raises:
            NotFound: no such lot.
            RuleBroken: the lot is an ingredient.
        """
        found = self._batches(self._live_lot_ids([lot]))
        if found:
            return found[0]
        if self._ingredient_lots(LOT.c.code == lot):
            raise RuleBroken(f"{lot} is an ingredient lot, not a lot of bars")
        raise NotFound(f"no batch {lot}", hint="check the code; list batches: soapstock curing")

    def batches(
        self, lots: Collection[str] | None = None, *, in_stock: bool = False
    ) -> list[BatchFacts]:
        """Batches in the order they were poured.

        Args:
            lots: only these lot codes; unknown ones are left out.
            in_stock: only batches still in the mould or with bars on a rack, shelf or store.
        """
        if lots is not None:
            return self._batches(self._live_lot_ids(lots))
        if in_stock:
            return self._batches(self._lot_ids_in_stock())
        return self._batches(None)

    def _live_lot_ids(self, codes: Iterable[str]) -> list[int]:
        query = select(LOT.c.id).where(LOT.c.code.in_(list(codes)), not_undone(LOT.c.id))
        return [int(lot_id) for lot_id in self.db.execute(query).scalars()]

    def _lot_ids_in_stock(self) -> list[int]:
        batch = select(LOT.c.id).where(LOT.c.kind == "batch")
        query = (
            select(POSTING.c.lot_id)
            .where(POSTING.c.place.not_in(OPEN_PLACES), POSTING.c.lot_id.in_(batch))
            .group_by(POSTING.c.lot_id, POSTING.c.unit)
            .having(func.sum(POSTING.c.quantity) > 0)
        )
        return sorted(set(self.db.execute(query).scalars()))

    def _batches(self, ids: list[int] | None) -> list[BatchFacts]:
        if ids is not None and not ids:
            return []
        with many_records():
            return self._read_batches(ids)

    def _read_batches(self, ids: list[int] | None) -> list[BatchFacts]:
        few = ids if ids is not None and len(ids) <= MANY else None
        wanted = None if ids is None else set(ids)
        pours = list(_rows(self.db, "pours", few)[0])
        if wanted is not None:
            pours = [row for row in pours if row.entry_id in wanted]
        parts = _Parts(self.db, few)
        recipes = {r.entry_id: r for r in self.db.execute(select(RECIPE))}
        lots = self._ingredient_lots(
            None if few is None else
            LOT.c.id.in_(select(USE.c.lot_id).where(USE.c.entry_id.in_(few)))
        )  # fmt: skip
        return [_batch(row, recipes[row.recipe_entry_id], parts, lots) for row in pours]


class _Parts:
    """The facts of many batches, each table read once and grouped by lot."""

    def __init__(self, db: Connection, few: list[int] | None) -> None:
        self.uses = _grouped(db, "uses", few)
        self.unmoulds = _grouped(db, "unmoulds", few)
        self.weigh_ins = _grouped(db, "weigh_ins", few)
        self.tests = _grouped(db, "tests", few)
        self.decisions = _grouped(db, "decisions", few)
        self.shipments = _grouped(db, "shipments", few)
        self.places = _grouped(db, "places", few)


@cache
def _query(name: str, *, chosen: bool) -> tuple[Any, str]:
    """A part's query and the name of its lot column; built once, as building costs a millisecond.

    With `chosen` it takes the lots as the parameter `lots`.
    """
    used = select(USE, LOT.c.code).outerjoin(LOT, LOT.c.id == USE.c.lot_id)
    held = (
        select(POSTING.c.lot_id, POSTING.c.place, func.sum(POSTING.c.quantity).label("held"))
        .where(POSTING.c.unit == "bars", POSTING.c.place.not_in(HIDDEN_PLACES))
        .group_by(POSTING.c.lot_id, POSTING.c.place)
    )
    query, key = {
        "pours": (
            live(POUR, LOT.c.code).join(LOT, LOT.c.id == POUR.c.entry_id), POUR.c.entry_id,
        ),
        "uses": (used.order_by(USE.c.entry_id, USE.c.line), USE.c.entry_id),
        "unmoulds": (live(UNMOULD), UNMOULD.c.lot_id),
        "weigh_ins": (live(WEIGH), WEIGH.c.lot_id),
        "tests": (live(TEST), TEST.c.lot_id),
        "decisions": (live(DECISION), DECISION.c.lot_id),
        "shipments": (
            live(MOVEMENT).where(MOVEMENT.c.to_place == "customer"), MOVEMENT.c.lot_id,
        ),
        "places": (held, POSTING.c.lot_id),
    }[name]  # fmt: skip
    if chosen:
        query = query.where(key.in_(bindparam("lots", expanding=True)))
    return query, key.name


def _rows(db: Connection, name: str, few: list[int] | None) -> tuple[Any, str]:
    query, key = _query(name, chosen=few is not None)
    return db.execute(query, {} if few is None else {"lots": few}), key


def _grouped(db: Connection, name: str, few: list[int] | None) -> dict[int, list[Any]]:
    groups: dict[int, list[Any]] = defaultdict(list)
    result, key = _rows(db, name, few)
    at = list(result.keys()).index(key)
    for row in result.all():
        groups[row[at]].append(row)
    return groups


def _ingredient_lot(row: Any, left_mg: int, figures: dict[str, float]) -> IngredientLot:
    return IngredientLot(
        lot_code=row.code, ingredient=row.ingredient, received_on=row.happened_on,
        supplier=row.supplier, supplier_lot=row.supplier_lot, mass_mg=row.mass_mg, left_mg=left_mg,
        best_before=row.best_before, cost_cents=row.cost_cents, currency=row.currency,
        sv_low=row.sv_low, sv_nominal=row.sv_nominal, sv_high=row.sv_high, animal=row.animal,
        raw_fat_mg=row.raw_fat_mg, certificate=row.certificate, entry_id=row.entry_id,
        acid_value=figures.get("acid_value"), moisture_percent=figures.get("moisture_percent"),
    )  # fmt: skip


def use_of(row: Any) -> Use:
    """A Use from its row."""
    return Use(
        lot_code=row.code, ingredient=row.ingredient, role=row.role, mass_mg=row.mass_mg,
        bars=row.bars, place=row.place,
    )  # fmt: skip


def _pour(row: Any, recipe: Any, uses: list[Any]) -> PourFacts:
    used = [use_of(use) for use in uses]
    return PourFacts(
        lot_code=row.code, recipe_code=recipe.code, recipe_version=recipe.version,
        uses=tuple(use for use in used if use.lot_code is not None),
        unlotted=tuple(use for use in used if use.lot_code is None),
        planned_json=row.planned_json, judgement_json=row.judgement_json, batter_mg=row.batter_mg,
        lye_c=row.lye_c, fats_c=row.fats_c, peak_c=row.peak_c, room_c=row.room_c,
        room_rh=row.room_rh, trace_minutes=row.trace_minutes, mould=row.mould,
    )  # fmt: skip


def _batch(row: Any, recipe: Any, parts: _Parts, lots: dict[int, IngredientLot]) -> BatchFacts:
    lot_id = row.entry_id
    uses = parts.uses.get(lot_id, [])
    unmoulds = parts.unmoulds.get(lot_id)
    return BatchFacts(
        lot_code=row.code, recipe_code=recipe.code, recipe_version=recipe.version,
        recipe_text=recipe.text, poured_on=row.happened_on, by=row.by, entry_id=lot_id,
        note=row.note, pour=_pour(row, recipe, uses),
        ingredient_lots={u.code: lots[u.lot_id] for u in uses if u.lot_id in lots},
        unmould=_unmould(unmoulds[-1]) if unmoulds else None,
        weigh_ins=tuple(map(_weigh, parts.weigh_ins.get(lot_id, ()))),
        tests=tuple(map(_test, parts.tests.get(lot_id, ()))),
        decisions=tuple(map(_decision, parts.decisions.get(lot_id, ()))),
        places={p.place: int(p.held) for p in parts.places.get(lot_id, ()) if p.held},
        shipments=tuple(shipment(ship, row.code) for ship in parts.shipments.get(lot_id, ())),
    )  # fmt: skip


def _unmould(row: Any) -> UnmouldRecord:
    return UnmouldRecord(
        on=row.happened_on, bars=row.bars, rejects=row.rejects, counted_bars=row.counted_bars,
        counted_mass_mg=row.counted_mass_mg, by=row.by, entry_id=row.entry_id,
    )  # fmt: skip


def _weigh(row: Any) -> WeighRecord:
    entry_id, _, bars, mass_mg, place, room_c, room_rh, on, by, _ = row
    return WeighRecord(
        on=on, bars=bars, mass_mg=mass_mg, by=by, entry_id=entry_id, room_c=room_c,
        room_rh=room_rh, place=place,
    )  # fmt: skip


def _test(row: Any) -> TestRecord:
    return TestRecord(
        on=row.happened_on, method=row.method, passed=row.passed, value=row.value, by=row.by,
        note=row.note, entry_id=row.entry_id,
    )  # fmt: skip


def _decision(row: Any) -> DecisionRecord:
    return DecisionRecord(
        on=row.happened_on, decision=row.decision, reason=row.reason, by=row.by,
        entry_id=row.entry_id,
    )  # fmt: skip


def shipment(row: Any, lot_code: str) -> ShipmentRecord:
    """A shipment from its movement row."""
    entry_id, _, _, bars, from_place, _, _, customer, order_ref, destination, _, on, *_ = row
    return ShipmentRecord(
        on=on, bars=bars, customer=customer, order_ref=order_ref, destination=destination,
        from_place=from_place, entry_id=entry_id, lot_code=lot_code,
    )  # fmt: skip
