"""Reviewing the facts themselves: their order in time, and that postings say what the facts say.

A batch's state is never stored, so "states against facts" means: nothing stands in the ledger that
its own facts do not allow, such as a shipment without a release before it.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from datetime import date
from typing import Any

from sqlalchemy import Connection, func, select

from soapstock.errors import Problem
from soapstock.ledger.base.tables import (
    DECISION,
    ENTRY,
    LOT,
    MOVEMENT,
    PLACE,
    POSTING,
    POUR,
    RECEIPT,
    RECIPE,
    UNMOULD,
    USE,
    WEIGH,
    live,
    not_undone,
)
from soapstock.ledger.places import kinds_that
from soapstock.units import quantity_words


def check_facts(db: Connection) -> list[Problem]:
    """Every finding about order in time, decisions, and postings that differ from their facts."""
    return [
        *_dated_before_their_lot(db),
        *_undone_too_early(db),
        *_dated_before_unmoulding(db),
        *_made_before_their_fat(db),
        *_shipped_unreleased(db),
        *_postings_against_facts(db),
        *_short_on_a_day(db),
        *_twin_lots(db),
        *_recipe_texts(db),
    ]


def _finding(entry_id: int, message: str, rule: str) -> Problem:
    return Problem(where=f"entry {entry_id}", message=message, rule=rule, severity="error")


def _dated_before_their_lot(db: Connection) -> list[Problem]:
    opened = ENTRY.alias("opened")
    query = (
        select(
            ENTRY.c.id, ENTRY.c.summary, ENTRY.c.happened_on, opened.c.happened_on.label("began")
        )
        .join(opened, opened.c.id == ENTRY.c.lot_id)
        .where(
            ENTRY.c.happened_on < opened.c.happened_on,
            ENTRY.c.undoes.is_(None),
            not_undone(ENTRY.c.id),
        )
    )
    return [
        _finding(
            r.id, f"{r.summary}: on {r.happened_on}, before its lot began on {r.began}", "order"
        )
        for r in db.execute(query)
    ]


def _undone_too_early(db: Connection) -> list[Problem]:
    undone = ENTRY.alias("undone")
    query = (
        select(ENTRY.c.id, ENTRY.c.summary, ENTRY.c.happened_on, undone.c.happened_on.label("was"))
        .join(undone, undone.c.id == ENTRY.c.undoes)
        .where(ENTRY.c.happened_on < undone.c.happened_on)
    )
    return [
        _finding(r.id, f"{r.summary}: on {r.happened_on}, before {r.was}, when it was", "order")
        for r in db.execute(query)
    ]


def _dated_before_unmoulding(db: Connection) -> list[Problem]:
    out: dict[int, tuple[date, int]] = {
        row.lot_id: (row.happened_on, row.bars) for row in db.execute(live(UNMOULD))
    }
    problems = []
    for row in db.execute(live(WEIGH)):
        day, bars = out.get(row.lot_id, (None, 0))
        if day is None or row.happened_on < day:
            problems.append(_finding(row.entry_id, "weighed before it was unmoulded", "order"))
        elif row.bars > bars:
            what = f"{row.bars} bars weighed, but only {bars} good ones came out of the mould"
            problems.append(_finding(row.entry_id, what, "order"))
    return problems


def _made_before_their_fat(db: Connection) -> list[Problem]:
    source = ENTRY.alias("source")
    query = (
        select(USE.c.entry_id, LOT.c.code, ENTRY.c.happened_on, source.c.happened_on.label("came"))
        .join(LOT, LOT.c.id == USE.c.lot_id)
        .join(source, source.c.id == LOT.c.id)
        .join(ENTRY, ENTRY.c.id == USE.c.entry_id)
        .where(not_undone(USE.c.entry_id))
    )
    problems = []
    for row in db.execute(query):
        if row.happened_on < row.came:
            what = f"uses {row.code} on {row.happened_on}, which came on {row.came}"
            problems.append(_finding(row.entry_id, what, "order"))
    undone = query.with_only_columns(USE.c.entry_id, LOT.c.code).where(~not_undone(LOT.c.id))
    for entry_id, code in db.execute(undone):
        problems.append(_finding(entry_id, f"uses {code}, which was undone", "order"))
    return problems


def _shipped_unreleased(db: Connection) -> list[Problem]:
    decided: dict[int, list[Any]] = defaultdict(list)
    undo = ENTRY.alias("taking_back")
    query = select(DECISION, ENTRY.c.happened_on, undo.c.id.label("undone_by")).join(
        ENTRY, ENTRY.c.id == DECISION.c.entry_id
    )
    for row in db.execute(query.outerjoin(undo, undo.c.undoes == DECISION.c.entry_id)):
        decided[row.lot_id].append(row)
    problems = []
    shipped = live(MOVEMENT).where(MOVEMENT.c.to_place == "customer")
    for row in db.execute(shipped):
        before = [
            d
            for d in decided[row.lot_id]
            if d.entry_id < row.entry_id and (d.undone_by is None or d.undone_by > row.entry_id)
        ]
        last = max(before, key=lambda d: d.entry_id, default=None)
        if last is None or last.decision != "release":
            problems.append(_finding(row.entry_id, "shipped without a release", "release"))
        elif row.happened_on < last.happened_on:
            what = f"shipped on {row.happened_on}, released on {last.happened_on}"
            problems.append(_finding(row.entry_id, what, "order"))
    return problems


def _postings_against_facts(db: Connection) -> list[Problem]:
    """Each entry's arrivals must be what its fact says arrived, place by place."""
    arrived: dict[int, dict[tuple[int, str, str], int]] = defaultdict(dict)
    query = (
        select(
            POSTING.c.entry_id,
            POSTING.c.lot_id,
            POSTING.c.unit,
            POSTING.c.place,
            func.sum(POSTING.c.quantity),
        )
        .join(ENTRY, ENTRY.c.id == POSTING.c.entry_id)
        .where(POSTING.c.quantity > 0, ENTRY.c.undoes.is_(None))
        .group_by(POSTING.c.entry_id, POSTING.c.lot_id, POSTING.c.unit, POSTING.c.place)
    )
    for entry_id, lot_id, unit, place, quantity in db.execute(query):
        arrived[entry_id][lot_id, unit, place] = int(quantity)
    told = _told(db)
    problems = []
    for entry_id in sorted(set(arrived) | set(told)):
        if arrived.get(entry_id, {}) != told.get(entry_id, {}):
            problems.append(_finding(entry_id, "its postings are not what its fact says", "agree"))
    return problems


def _told(db: Connection) -> dict[int, dict[tuple[int, str, str], int]]:
    told: dict[int, dict[tuple[int, str, str], int]] = defaultdict(dict)

    def say(entry_id: int, lot_id: int, unit: str, place: str, quantity: int) -> None:
        if quantity:
            key = (lot_id, unit, place)
            told[entry_id][key] = told[entry_id].get(key, 0) + quantity

    receipts = select(RECEIPT.c.entry_id, RECEIPT.c.place, RECEIPT.c.mass_mg)
    for lot_id, place, mass in db.execute(receipts):
        say(lot_id, lot_id, "mg", place, mass)
    pours = select(POUR.c.entry_id, POUR.c.batter_mg)
    batter = {row.entry_id: row.batter_mg for row in db.execute(pours)}
    for lot_id, mass in batter.items():
        say(lot_id, lot_id, "mg", "mould", mass)
    used = select(USE, LOT.c.kind).join(LOT, LOT.c.id == USE.c.lot_id)
    for row in db.execute(used):
        bars = row.kind == "batch"
        say(
            row.entry_id,
            row.lot_id,
            "bars" if bars else "mg",
            "pot",
            row.bars if bars else row.mass_mg,
        )
    for row in db.execute(select(UNMOULD)):
        say(row.entry_id, row.lot_id, "bars", row.place, row.bars)
        say(row.entry_id, row.lot_id, "bars", "waste", row.rejects)
        say(row.entry_id, row.lot_id, "mg", "pot", batter.get(row.lot_id, 0))
    for row in db.execute(select(MOVEMENT)):
        say(row.entry_id, row.lot_id, row.unit, row.to_place, row.quantity)
    return told


def _short_on_a_day(db: Connection) -> list[Problem]:
    """Stock that was only there if a later-dated fact had come first; a date is likely wrong."""
    query = (
        select(
            POSTING.c.lot_id,
            LOT.c.code,
            POSTING.c.unit,
            POSTING.c.place,
            ENTRY.c.happened_on,
            func.sum(POSTING.c.quantity).label("change"),
        )
        .join(ENTRY, ENTRY.c.id == POSTING.c.entry_id)
        .join(LOT, LOT.c.id == POSTING.c.lot_id)
        .join(PLACE, PLACE.c.name == POSTING.c.place)
        .where(
            PLACE.c.kind.not_in(sorted(kinds_that("free"))),
            ENTRY.c.undoes.is_(None),
            not_undone(ENTRY.c.id),
        )
        .group_by(
            POSTING.c.lot_id, LOT.c.code, POSTING.c.unit, POSTING.c.place, ENTRY.c.happened_on
        )
        .order_by(POSTING.c.lot_id, POSTING.c.unit, POSTING.c.place, ENTRY.c.happened_on)
    )
    problems, spot, held = [], None, 0
    for row in db.execute(query):
        here = (row.lot_id, row.unit, row.place)
        held = (held if here == spot else 0) + int(row.change)
        if held < 0 <= held - int(row.change):  # the day it first fell below nothing
            what = (
                f"by its dates {row.place} held {quantity_words(held, row.unit)} "
                f"on {row.happened_on}; look for a wrong date"
            )
            problems.append(Problem(where=row.code, message=what, rule="order"))
        spot = here
    return problems


def _twin_lots(db: Connection) -> list[Problem]:
    query = (
        select(LOT.c.code, func.count())
        .where(not_undone(LOT.c.id))
        .group_by(LOT.c.code)
        .having(func.count() > 1)
    )
    return [
        Problem(where=code, message=f"{n} live lots have this code", rule="lot", severity="error")
        for code, n in db.execute(query)
    ]


def _recipe_texts(db: Connection) -> list[Problem]:
    return [
        _finding(row.entry_id, f"the text of recipe {row.code} is not the one frozen", "recipe")
        for row in db.execute(select(RECIPE))
        if hashlib.sha256(row.text.encode()).hexdigest() != row.sha256
    ]
