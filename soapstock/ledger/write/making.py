"""Writing the facts of making: recipes, receipts, pours, unmoulding, weigh-ins, tests."""

from __future__ import annotations

import hashlib
from typing import Any, get_args

from sqlalchemy import select

from soapstock.cure.words import Decision, Method
from soapstock.errors import BadInput, Mend, NotFound, RuleBroken
from soapstock.ledger.base.tables import (
    DECISION,
    DECLARED,
    ENTRY,
    LOT,
    MOVEMENT,
    POUR,
    RECEIPT,
    RECIPE,
    RETIREMENT,
    TEST,
    UNMOULD,
    USE,
    WEIGH,
    not_undone,
)
from soapstock.ledger.facts import (
    PourFacts,
    ReceiveFacts,
    RecipeVersion,
    Stamp,
    Use,
)
from soapstock.ledger.write import guards
from soapstock.ledger.write.core import (
    Move,
    OpenLot,
    Rows,
    WriterCore,
    fact,
)
from soapstock.recipes.weighing import Role
from soapstock.units import quantity_words

MOST_OF_POUR = 1.02  # bars may seem a little heavier than the pour: two scales, two roundings


class BatchWriter(WriterCore):
    """The facts of making soap."""

    def add_recipe(self, stamp: Stamp, *, code: str, text: str) -> RecipeVersion:
        """Add a recipe's text as its next version; the text of the newest version adds nothing."""
        stamp = guards.stamp(stamp)
        code = guards.text("recipe code", code, limit=20, required=True)
        guards.text(f"the text of recipe {code}", text, limit=200_000, required=True)
        sha256 = hashlib.sha256(text.encode()).hexdigest()
        newest = self.db.execute(
            select(RECIPE, ENTRY.c.happened_on)
            .join(ENTRY, ENTRY.c.id == RECIPE.c.entry_id)
            .where(RECIPE.c.code == code)
            .order_by(RECIPE.c.version.desc())
            .limit(1)
        ).first()
        if newest is not None and newest.sha256 == sha256:
            return RecipeVersion(
                code=code,
                version=newest.version,
                text=text,
                sha256=sha256,
                added_on=newest.happened_on,
                entry_id=newest.entry_id,
            )
        version = 1 if newest is None else newest.version + 1
        row = {
            "entry_id": self.next_id,
            "code": code,
            "version": version,
            "text": text,
            "sha256": sha256,
        }
        stamp, self.client_sha256 = self.keyed(stamp)
        entry_id = self.enter(
            stamp, "recipe", facts=[(RECIPE, row)], summary=f"recipe {code} version {version}"
        )
        return RecipeVersion(
            code=code,
            version=version,
            text=text,
            sha256=sha256,
            added_on=stamp.happened_on,
            entry_id=entry_id,
        )

    @fact
    def retire(self, stamp: Stamp, code: str, reason: str, *, retired: bool = True) -> int:
        """Take a recipe out of use, or into use again; all that was poured by it stays.

        Raises:
            BadInput: no reason is given.
            NotFound: no such recipe.
            RuleBroken: it is so already.
        """
        code = guards.text("recipe code", code, limit=20, required=True)
        if self.db.execute(select(RECIPE.c.entry_id).where(RECIPE.c.code == code)).first() is None:
            raise NotFound(f"no recipe {code}", mend=Mend("add_recipe"))
        newest = self.db.execute(
            select(RETIREMENT.c.retired)
            .where(RETIREMENT.c.recipe_code == code, not_undone(RETIREMENT.c.entry_id))
            .order_by(RETIREMENT.c.entry_id.desc())
            .limit(1)
        ).scalar()
        if bool(newest) == retired:
            raise RuleBroken(f"recipe {code} is {'retired already' if retired else 'not retired'}")
        row = {
            "entry_id": self.next_id,
            "recipe_code": code,
            "retired": retired,
            "reason": guards.text("reason", reason, required=True),
        }
        said = "retired" if retired else "in use again"
        return self.enter(
            stamp, "retire", facts=[(RETIREMENT, row)], summary=f"recipe {code} {said}: {reason}"
        )

    @fact
    def receive(self, stamp: Stamp, facts: ReceiveFacts) -> int:
        """Take an ingredient lot into the store.

        Raises:
            BadInput: a mass, text or saponification value that cannot be.
            RuleBroken: the lot code is in use, or a lot it was made from has too little.
        """
        lot = self._new_lot(stamp, facts.lot_code, "ingredient", facts.ingredient)
        mass = guards.whole("mass received in mg", facts.mass_mg)
        if not self.use_of(facts.place).holds:
            raise RuleBroken(f"an ingredient cannot be received into {facts.place}")
        moves = [
            Move(lot=lot, unit="mg", place="supplier", quantity=-mass),
            Move(lot=lot, unit="mg", place=facts.place, quantity=mass),
        ]
        use_rows, use_moves = self._uses(stamp, facts.made_from, lot.id, what="rendering")
        supplier = guards.text("supplier", facts.supplier)
        row = {
            "entry_id": lot.id,
            "ingredient": lot.item,
            "mass_mg": mass,
            "supplier": supplier,
            "supplier_lot": guards.text("supplier's lot", facts.supplier_lot),
            "cost_cents": None
            if facts.cost_cents is None
            else guards.whole("cost in cents", facts.cost_cents, low=0, high=guards.MAX_CENTS),
            "currency": guards.text("currency", facts.currency, limit=10),
            "best_before": None
            if facts.best_before is None
            else guards.day("best-before", facts.best_before),
            **_saponification(facts),
            "certificate": guards.text("certificate", facts.certificate),
            "animal": guards.text("animal", facts.animal),
            "raw_fat_mg": None
            if facts.raw_fat_mg is None
            else guards.whole("raw fat in mg", facts.raw_fat_mg),
            "place": facts.place,
            "acid_value": guards.figure("acid value", facts.acid_value, low=0, high=250),
            "moisture_percent": guards.figure("moisture", facts.moisture_percent, low=0, high=100),
        }
        origin = supplier or (f"animal {row['animal']}" if row["animal"] else "own")
        return self.enter(
            stamp,
            "receive",
            lot_id=lot.id,
            moves=moves + use_moves,
            facts=[
                (LOT, _lot_row(lot)),
                (RECEIPT, row),
                *use_rows,
            ],
            summary=f"received {quantity_words(mass, 'mg')} {lot.item} as {lot.code} from {origin}",
        )

    @fact
    def pour(self, stamp: Stamp, facts: PourFacts) -> int:
        """Record a pour: ingredients into the pot, batter into the mould.

        Raises:
            NotFound: the recipe version or an ingredient lot is not there.
            RuleBroken: too little of a lot, a lot received after the pour, or a code in use.
        """
        recipe_entry = self.db.execute(
            select(RECIPE.c.entry_id).where(
                RECIPE.c.code == facts.recipe_code, RECIPE.c.version == facts.recipe_version
            )
        ).scalar()
        if recipe_entry is None:
            raise NotFound(
                f"no recipe {facts.recipe_code!s:.20} version {facts.recipe_version}",
                mend=Mend("add_recipe"),
            )
        lot = self._new_lot(stamp, facts.lot_code, "batch", facts.recipe_code)
        if any(use.lot_code is None for use in facts.uses) or not (facts.uses or facts.unlotted):
            raise BadInput("a pour needs what went in; what came from no lot goes under unlotted")
        if any(use.lot_code is not None for use in facts.unlotted):
            raise BadInput("an unlotted ingredient cannot name a lot")
        rows, moves = self._uses(stamp, (*facts.uses, *facts.unlotted), lot.id, what="pour")
        batter = guards.whole("batter in mg", facts.batter_mg)
        moves += [
            Move(lot=lot, unit="mg", place="pot", quantity=-batter),
            Move(lot=lot, unit="mg", place="mould", quantity=batter),
        ]
        row = {
            "entry_id": lot.id,
            "recipe_entry_id": recipe_entry,
            "batter_mg": batter,
            "planned_json": guards.text("plan", facts.planned_json, limit=200_000),
            "judgement_json": guards.text("judgement", facts.judgement_json, limit=200_000),
            "lye_c": guards.figure("lye temperature", facts.lye_c, high=200),
            "fats_c": guards.figure("fats temperature", facts.fats_c, high=200),
            "peak_c": guards.figure("peak temperature", facts.peak_c, high=200),
            "room_c": guards.figure("room temperature", facts.room_c, high=70),
            "room_rh": guards.figure("room humidity", facts.room_rh, low=0, high=100),
            "trace_minutes": guards.figure("minutes to trace", facts.trace_minutes, low=0),
            "cooled_minutes": guards.figure(
                "minutes to cool", facts.cooled_minutes, low=0, high=2880
            ),
            "seized": facts.seized,
            "mould": guards.text("mould", facts.mould),
        }
        return self.enter(
            stamp,
            "pour",
            lot_id=lot.id,
            moves=moves,
            facts=[
                (LOT, _lot_row(lot)),
                (POUR, row),
                *rows,
            ],
            summary=f"poured {quantity_words(batter, 'mg')} of {facts.recipe_code} "
            f"version {facts.recipe_version} as {lot.code}",
        )

    @fact
    def unmould(
        self,
        stamp: Stamp,
        lot: str,
        bars: int,
        rejects: int,
        counted_bars: int,
        counted_mass_mg: int,
        place: str = "rack",
    ) -> int:
        """Take bars out of the mould; rejects come on top of the good bars and go to waste.

        Raises:
            RuleBroken: unmoulded before, dated before the pour, or more mass than the batter.
        """
        batch = self.lot(lot, "batch")
        self.refuse_before(stamp, batch, "unmoulding")
        before = self.live_fact(UNMOULD, batch.id)
        if before is not None:
            raise RuleBroken(
                f"{batch.code} was unmoulded on {before.happened_on} (entry {before.entry_id})",
                mend=Mend("undo", entry=before.entry_id),
            )
        guards.whole("bars", bars, low=0, high=guards.MAX_BARS)
        guards.whole("rejects", rejects, low=0, high=guards.MAX_BARS)
        guards.whole("all bars", bars + rejects)
        guards.whole("counted bars", counted_bars, high=bars or rejects)
        guards.whole("counted mass in mg", counted_mass_mg)
        if not self.use_of(place).holds:
            raise RuleBroken(f"bars cannot be unmoulded into {place}", hint="give a rack or shelf")
        batter = self.held(batch.id, "mg").get("mould", 0)
        _refuse_heavier(bars + rejects, counted_mass_mg / counted_bars, batter)
        moves = [
            Move(lot=batch, unit="mg", place="mould", quantity=-batter),
            Move(lot=batch, unit="mg", place="pot", quantity=batter),
            Move(lot=batch, unit="bars", place="pot", quantity=-(bars + rejects)),
            Move(lot=batch, unit="bars", place=place, quantity=bars),
            Move(lot=batch, unit="bars", place="waste", quantity=rejects),
        ]
        row = {
            "entry_id": self.next_id,
            "lot_id": batch.id,
            "bars": bars,
            "rejects": rejects,
            "counted_bars": counted_bars,
            "counted_mass_mg": counted_mass_mg,
            "place": place,
        }
        said = f", {rejects} rejected" if rejects else ""
        return self.enter(
            stamp,
            "unmould",
            lot_id=batch.id,
            facts=[(UNMOULD, row)],
            moves=moves,
            summary=f"unmoulded {bars} bars of {batch.code} to {place}{said}",
        )

    @fact
    def weigh(
        self,
        stamp: Stamp,
        lot: str,
        bars: int,
        mass_mg: int,
        place: str | None = None,
        room_c: float | None = None,
        room_rh: float | None = None,
    ) -> int:
        """Record the mass of a counted set of bars of one lot.

        Raises:
            RuleBroken: still in the mould, dated before unmoulding, or more bars than there are.
        """
        batch = self.lot(lot, "batch")
        out = self._unmoulded(stamp, batch, "weigh-in")
        guards.whole("bars weighed", bars, high=guards.MAX_BARS)
        if bars > out.bars:
            raise RuleBroken(
                f"{batch.code} had only {out.bars} good bars; {bars} cannot be on the scale",
                hint="check the count",
            )
        guards.whole("mass in mg", mass_mg)
        if place is not None:
            self.place_kind(place)
        row = {
            "entry_id": self.next_id,
            "lot_id": batch.id,
            "bars": bars,
            "mass_mg": mass_mg,
            "place": place,
            "room_c": guards.figure("room temperature", room_c, high=70),
            "room_rh": guards.figure("room humidity", room_rh, low=0, high=100),
        }
        return self.enter(
            stamp,
            "weigh",
            lot_id=batch.id,
            facts=[(WEIGH, row)],
            summary=f"weighed {bars} bars of {batch.code}: {quantity_words(mass_mg, 'mg')}",
        )

    @fact
    def test(self, stamp: Stamp, lot: str, method: str, passed: bool, value: str = "") -> int:
        """Record a test. Raises BadInput for an unknown method, RuleBroken before the pour."""
        batch = self.lot(lot, "batch")
        self.refuse_before(stamp, batch, "test")
        guards.one_of("method", method, get_args(Method))
        if not isinstance(passed, bool):
            raise BadInput("a test is passed or failed, nothing else")
        row = {
            "entry_id": self.next_id,
            "lot_id": batch.id,
            "method": method,
            "passed": passed,
            "value": guards.text("value", value),
        }
        word = "passed" if passed else "failed"
        return self.enter(
            stamp,
            "test",
            lot_id=batch.id,
            facts=[(TEST, row)],
            summary=f"{method} test of {batch.code} {word} {value}".rstrip(),
        )

    @fact
    def decide(self, stamp: Stamp, lot: str, decision: str, reason: str = "") -> int:
        """Record a release, hold or reject; a hold or reject needs its reason.

        An ingredient lot is put on hold, and let go by a release; it is not rejected but wasted.

        Raises:
            RuleBroken: a release of bars still in the mould, or a date before the pour.
        """
        batch = self.lot(lot, "batch" if decision == "reject" else None)
        guards.one_of("decision", decision, get_args(Decision))
        if decision == "release" and batch.kind == "batch":
            self._unmoulded(stamp, batch, "release")
        self.refuse_before(stamp, batch, decision)
        why = guards.text(
            f"the reason to {decision}", reason, limit=guards.LONG, required=decision != "release"
        )
        row = {
            "entry_id": self.next_id,
            "lot_id": batch.id,
            "decision": decision,
            "reason": why,
        }
        return self.enter(
            stamp,
            decision,
            lot_id=batch.id,
            facts=[(DECISION, row)],
            summary=f"{decision} of {batch.code}" + (f": {why}" if why else ""),
        )

    @fact
    def declare(self, stamp: Stamp, lot: str, mass_mg: int, reason: str) -> int:
        """Declare another net weight of a batch's bars than its recipe does.

        Raises:
            RuleBroken: a bar was shipped already, under the weight declared before.
        """
        batch = self.lot(lot, "batch")
        self._unmoulded(stamp, batch, "declared weight")
        guards.whole("declared weight in mg", mass_mg)
        sent = self.db.execute(
            select(MOVEMENT.c.entry_id).where(
                MOVEMENT.c.lot_id == batch.id,
                MOVEMENT.c.to_place == "customer",
                not_undone(MOVEMENT.c.entry_id),
            )
        ).first()
        if sent is not None:
            raise RuleBroken(
                f"bars of {batch.code} were shipped already under another weight "
                f"(entry {sent.entry_id})",
                hint="what a customer has been told stays; make the rest into another batch",
            )
        why = guards.text("the reason", reason, limit=guards.LONG, required=True)
        row = {"entry_id": self.next_id, "lot_id": batch.id, "mass_mg": mass_mg, "reason": why}
        return self.enter(
            stamp,
            "declare",
            lot_id=batch.id,
            facts=[(DECLARED, row)],
            summary=f"declared {quantity_words(mass_mg, 'mg')} a bar of {batch.code}: {why}",
        )

    def _unmoulded(self, stamp: Stamp, batch: OpenLot, what: str) -> Any:
        out = self.live_fact(UNMOULD, batch.id)
        if out is None:
            raise RuleBroken(
                f"{batch.code} is still in the mould", mend=Mend("unmould", lot=batch.code)
            )
        if stamp.happened_on < out.happened_on:
            raise RuleBroken(
                f"{what} of {batch.code} on {stamp.happened_on} is before it was unmoulded "
                f"on {out.happened_on}",
                hint="check the date",
            )
        return out

    def _new_lot(self, stamp: Stamp, code: str, kind: str, item: str) -> OpenLot:
        code = guards.lot_code(code)
        if self.find_lot(code) is not None:
            raise RuleBroken(f"lot code {code} is in use", hint="take the next letter")
        what = "recipe code" if kind == "batch" else "ingredient"
        return OpenLot(
            id=self.next_id,
            code=code,
            kind=kind,
            opened_on=stamp.happened_on,
            item=guards.text(what, item, limit=80, required=True),
        )

    def _uses(
        self, stamp: Stamp, uses: tuple[Use, ...], entry_id: int, *, what: str
    ) -> tuple[Rows, list[Move]]:
        rows: list[tuple[object, dict[str, object]]] = []
        moves: list[Move] = []
        taken: dict[tuple[int, str], int] = {}
        for line, use in enumerate(uses, 1):
            guards.one_of("role", use.role, get_args(Role))
            least = 0 if use.role == "addition" else 1  # a colour added to a shade is not weighed
            mass = guards.whole(f"mass of {use.ingredient!s:.40} in mg", use.mass_mg, low=least)
            lot_id = None
            if use.lot_code is not None:
                lot = self.lot(use.lot_code)
                lot_id = lot.id
                self.refuse_before(stamp, lot, what + " with")
                moves += self._taking(lot, use, mass, taken)
            name = guards.text("ingredient", use.ingredient, limit=80, required=True)
            rows.append(
                (
                    USE,
                    {
                        "entry_id": entry_id,
                        "line": line,
                        "lot_id": lot_id,
                        "ingredient": name,
                        "role": use.role,
                        "mass_mg": mass,
                        "bars": use.bars,
                        "place": use.place,
                    },
                )
            )
        return rows, moves  # type: ignore[return-value]

    def _taking(
        self, lot: OpenLot, use: Use, mass: int, taken: dict[tuple[int, str], int]
    ) -> list[Move]:
        wanted = mass
        if lot.kind == "batch":
            wanted = guards.whole(f"bars of {lot.code} in the pot", use.bars, high=guards.MAX_BARS)
        elif use.ingredient != lot.item:
            raise RuleBroken(
                f"lot {lot.code} is {lot.item}, not {use.ingredient}", hint="check the lot code"
            )
        else:
            last = self.live_fact(DECISION, lot.id)
            if last is not None and last.decision == "hold":
                raise RuleBroken(
                    f"{lot.code} is on hold: {last.reason}",
                    hint="take another lot, or let this one go first",
                )
        held = self.held(lot.id, lot.unit)
        names = (
            [use.place]
            if use.place
            else sorted((p for p in held if self.use_of(p).holds), key=lambda p: (-held[p], p))
        )
        moves: list[Move] = []
        rest = wanted
        for name in names:
            free = held.get(name, 0) - taken.get((lot.id, name), 0)
            part = min(rest, free)
            if part > 0:
                taken[lot.id, name] = taken.get((lot.id, name), 0) + part
                moves.append(Move(lot=lot, unit=lot.unit, place=name, quantity=-part))
                rest -= part
        if rest:
            there = quantity_words(wanted - rest, lot.unit)
            raise RuleBroken(
                f"lot {lot.code} has {there} left; cannot take {quantity_words(wanted, lot.unit)}",
                hint="take the rest from another lot, or count what is there",
            )
        if lot.kind == "batch":
            for_sale = (-m.quantity for m in moves if self.use_of(m.place).for_sale)
            self.refuse_reserved(lot, sum(for_sale))
        return [*moves, Move(lot=lot, unit=lot.unit, place="pot", quantity=wanted)]


def _refuse_heavier(bars: int, bar_mg: float, batter_mg: int) -> None:
    """Refuse bars that weigh more than the batter they were made of."""
    every = int(bars * bar_mg)
    if every > batter_mg * MOST_OF_POUR:
        raise RuleBroken(
            f"{bars} such bars weigh {quantity_words(every, 'mg')}, more than the "
            f"{quantity_words(batter_mg, 'mg')} poured",
            hint="give the mass of the counted bars alone, without the tray",
        )


def _lot_row(lot: OpenLot) -> dict[str, object]:
    return {"id": lot.id, "code": lot.code, "kind": lot.kind, "item": lot.item}


def _saponification(facts: ReceiveFacts) -> dict[str, float | None]:
    values = {
        "sv_low": facts.sv_low,
        "sv_nominal": facts.sv_nominal,
        "sv_high": facts.sv_high,
    }
    given = [value for value in values.values() if value is not None]
    if given and len(given) != len(values):
        raise BadInput("a certificate's saponification value needs low, nominal and high")
    for name, value in values.items():
        guards.figure(name, value, low=1, high=1000)
    if given and not given[0] <= given[1] <= given[2]:
        raise BadInput("saponification value: low, nominal and high are not in order")
    return values
