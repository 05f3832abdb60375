"""What to pour and when: the shop as a planning task, and its best plan with what it needs."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from soapstock.chemistry.interval import Interval
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import parsed_recipe
from soapstock.desk.ingredients import RAW
from soapstock.errors import BadInput, Mend, NotFound, RuleBroken
from soapstock.planning.breakage import good_bars
from soapstock.planning.demand import Rate, Spell, demand, learn_rate
from soapstock.planning.plan import best_plan
from soapstock.planning.task import Mould, PourPlan, Task, Variety
from soapstock.planning.why import (
    Give,
    OneMore,
    eased,
    fewest_broken,
    what_binds,
    what_must_give,
)
from soapstock.units import format_kg, grams, kilograms
from soapstock.views.batch import views
from soapstock.views.coming import Coming, coming_bar
from soapstock.views.cost import bar_costs
from soapstock.views.orders import still_wanted, supply_day
from soapstock.views.recipes import recipe_mark
from soapstock.views.teachers import shop_teachers

if TYPE_CHECKING:
    from soapstock.ledger.facts import BatchFacts, IngredientLot
    from soapstock.recipes.recipe import Recipe
    from soapstock.views.batch import BatchView

_YEAR = timedelta(days=365)  # sales before tell little of the next weeks
_MOST_DAYS = 366
USUAL_AHEAD = timedelta(days=70)  # ten weeks: the cure and some weeks to pour in
_QUICK_S = 1.0  # for a program of the one line of the day


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What the maker asks of a plan.

    Attributes:
        launch: day by which bars must be ready; first: first day to pour on.
        selling_days: days after the launch whose sales the bars are for.
        expected: bars the maker thinks will be asked for in all, None to go by sales.
        favour: how much of a variety beside the others, by code; 1 for even, 0 for none.
        buying: what the shop does not render itself may be bought.
    """

    launch: date
    first: date
    selling_days: int = 28
    expected: int | None = None
    favour: Mapping[str, float] | None = None
    buying: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One variety as it stands: bars by state, what is wanted, and what is aimed at."""

    code: str
    name: str
    ready: int = 0
    curing: int = 0
    in_mould: int = 0
    late: int = 0
    wanted: int = 0
    waits: int = 0
    rate: Rate
    coming: Coming


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A plan as the maker reads it.

    Attributes:
        plan: None when there is none.
        gives: what must give for every order to be kept, when no plan keeps them all; the plan is
            then that with the fewest bars cut from the orders.
        on_day: bars of each variety on the day, as a range (5, 50, 95 % by breakage).
        to_buy_g: what is missing for the plan; left_g: what is left of the scarce fats.
        a_kg_earns: by scarce fat and variety, its price less its cost for each kg of that fat;
            empty without prices.
        curing: batches that are not ready yet, by the day they were poured.
        notes: what was taken for granted.
    """

    wish: Wish
    task: Task
    standings: tuple[Standing, ...]
    plan: PourPlan | None
    on_day: Mapping[str, Interval]
    to_buy_g: Mapping[str, float]
    left_g: Mapping[str, float]
    a_kg_earns: Mapping[str, Mapping[str, float]]
    binds: tuple[OneMore, ...]
    gives: tuple[Give, ...]
    curing: tuple[BatchView, ...]
    notes: tuple[str, ...]


@one_snapshot
def plan(desk: Desk, wish: Wish, *, why: bool = False) -> Planned:
    """The best plan for a launch.

    Raises:
        BadInput: a launch too near or too far.
        NotFound: a variety is favoured that no recipe has.
        RuleBroken: no mould is known, or nothing tells what will be asked for.
    """
    notes: list[str] = []
    book, standings, task = _asked(desk, wish, notes)
    best = best_plan(task)
    gives: list[Give] = []
    if best is None:
        gives = what_must_give(task)
        cut = next((give.fewer for give in gives if give.kind == "promise"), None)
        if cut is not None:
            task = eased(task, cut)
            best = best_plan(task)
    good, bad = _made(book.batches)
    on_day = {}
    for v in task.varieties:
        bars = (best.bars[v.code] if best else v.there) - v.there
        sound = good_bars(bars, good, bad)
        on_day[v.code] = Interval(
            low=v.there + sound.low, nominal=v.there + sound.nominal, high=v.there + sound.high
        )
    used = _used(task, best)
    return Planned(
        wish=wish,
        task=task,
        standings=tuple(standings),
        plan=best,
        on_day=on_day,
        to_buy_g={
            key: mass - book.at_hand_g[key]
            for key, mass in sorted(used.items())
            if key not in task.scarce_g and mass > book.at_hand_g[key] + 0.5
        },
        left_g={key: mass - used[key] for key, mass in task.scarce_g.items()},
        a_kg_earns=_a_kg_earns(task) if _priced(book, standings) else {},
        binds=tuple(what_binds(task, best)) if best and why else (),
        gives=tuple(gives),
        curing=_curing(book),
        notes=tuple(notes),
    )


def _priced(book: _Book, standings: Sequence[Standing]) -> bool:
    return all(s.code in book.prices for s in standings)


def _a_kg_earns(task: Task) -> dict[str, dict[str, float]]:
    """What a kg of each scarce fat earns in each variety that takes it, the most first."""
    found = {}
    for key in task.scarce_g:
        earned = {
            v.code: (v.price - v.cost) / float(kilograms(Decimal(v.needs_g[key])))
            for v in task.varieties
            if v.needs_g.get(key)
        }
        found[key] = dict(sorted(earned.items(), key=lambda one: -one[1]))
    return found


def _curing(book: _Book) -> tuple[BatchView, ...]:
    waits = [
        item
        for item in book.items
        if item.readiness.state not in ("ready", "gone", "rejected") and not item.stopped
    ]
    return tuple(sorted(waits, key=lambda v: (v.facts.poured_on, v.facts.lot_code)))


def _asked(desk: Desk, wish: Wish, notes: list[str]) -> tuple[_Book, list[Standing], Task]:
    """The shop as a task. Raises as `plan` does."""
    _check(desk, wish)
    book = _read(desk, wish.launch)
    standings = _standings(desk, wish, book, notes)
    return book, standings, _task(desk, wish, book, standings, notes)


@one_snapshot
def pour_next(desk: Desk) -> str:
    """What to pour next, or why it is not known, in one line made in a few seconds at most."""
    wish = Wish(launch=desk.today + USUAL_AHEAD, first=desk.today)
    try:
        _, standings, task = _asked(desk, wish, [])
        best = best_plan(task, seconds=_QUICK_S)
        if best is not None:
            return next_words(task, standings, best)
        task = eased(task, fewest_broken(task, seconds=_QUICK_S))
        best = best_plan(task, seconds=_QUICK_S)
    except (BadInput, NotFound, RuleBroken) as err:
        return f"What to pour next is not known: {err.message}."
    by = f"{wish.launch.day} {wish.launch:%b}"
    return f"No plan keeps every order by {by}. {next_words(task, standings, best)}"


def _check(desk: Desk, wish: Wish) -> None:
    ahead = (wish.launch - wish.first).days
    if wish.first < desk.today:
        raise BadInput(f"{wish.first.isoformat()} is past", hint="a plan begins today or later")
    if not 0 < ahead <= _MOST_DAYS:
        raise BadInput(
            f"{wish.launch.isoformat()} is {ahead} days after the first day to pour",
            hint=f"plan 1 to {_MOST_DAYS} days ahead",
        )
    if not desk.shop.workshop.moulds:
        raise RuleBroken(
            "no moulds are known, so no pour can be planned",
            hint="say in shop.toml what moulds there are, such as [moulds.loaf] with bars = 20",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Book:
    recipes: tuple[Recipe, ...]
    retired: Mapping[str, str]
    batches: tuple[BatchFacts, ...]
    items: tuple[BatchView, ...]
    lots: tuple[IngredientLot, ...]
    wanted: Mapping[str, int]
    waits: Mapping[str, int]
    rack_places: int | None
    at_hand_g: Mapping[str, float]
    prices: Mapping[str, float]
    costs: Mapping[str, float]


def _read(desk: Desk, launch: date) -> _Book:
    with desk.ledger.read() as reader:
        stored = reader.recipes()
        recipes = [parsed_recipe(r.text, f"recipe {r.code}") for r in stored]
        batches = reader.batches()
        lots = reader.ingredient_lots()
        waiting = reader.orders(open_only=True)
        wants = reader.wants()
        prices = {
            line.recipe_code: line.price_cents / 100
            for order in sorted(reader.orders(), key=lambda o: o.entry_id)
            for line in order.lines
            if line.price_cents
        }
        prices |= {
            code: one.price_cents / 100
            for (code, buyer), one in reader.price_list(desk.today).items()
            if buyer == "direct" and one.price_cents
        }
        costs = bar_costs(desk, reader)
        racks = [p.capacity_bars for p in reader.places() if p.kind == "rack"]
    recipe_of = {b.lot_code: b.recipe_code for b in batches}
    wanted: Counter[str] = Counter()
    for order in (o for o in waiting if o.wanted_on is None or o.wanted_on <= launch):
        wanted.update(still_wanted(order, recipe_of))
    waits: Counter[str] = Counter()
    for want in wants:
        waits[want.recipe_code] += want.bars
    at_hand: dict[str, float] = defaultdict(float)
    for lot in lots:
        fresh = lot.best_before is None or lot.best_before >= desk.today
        if fresh and not lot.hold_reason:
            at_hand[lot.ingredient] += grams(lot.left_mg)
    known = [places for places in racks if places is not None]
    room = sum(known) if racks and len(known) == len(racks) else None
    return _Book(
        recipes=tuple(recipes),
        retired={r.code: r.retired for r in stored if r.retired},
        batches=tuple(batches),
        items=tuple(views(desk, in_stock=True)),
        lots=tuple(lots),
        wanted=wanted,
        waits=waits,
        rack_places=desk.shop.workshop.rack_places or room,
        at_hand_g=at_hand,
        prices=prices,
        costs=costs,
    )


def _standings(desk: Desk, wish: Wish, book: _Book, notes: list[str]) -> list[Standing]:
    favour = dict(wish.favour or {})
    strangers = set(favour) - {r.code for r in book.recipes}
    if strangers:
        raise NotFound(f"no recipe {', '.join(sorted(strangers))}", mend=Mend("add_recipe"))
    spells = {r.code: _spells(desk, r.code, book.batches) for r in book.recipes}
    guesses = _guesses(wish, book, spells, favour)
    teachers = shop_teachers(desk)
    found = []
    for recipe in book.recipes:
        if why := _not_poured(recipe, book):
            notes.append(f"{recipe.name} is left out: {why}.")
            continue
        mine = [b for b in book.batches if b.recipe_code == recipe.code]
        try:
            coming = coming_bar(desk, recipe, mine, teachers, day=wish.first)
        except RuleBroken as err:
            notes.append(f"{recipe.name} is left out: {err.message}.")
            continue
        if favour.get(recipe.code, 1.0) > 0:
            found.append(
                Standing(
                    code=recipe.code,
                    name=recipe.name,
                    wanted=book.wanted.get(recipe.code, 0),
                    waits=book.waits.get(recipe.code, 0),
                    rate=learn_rate(guesses[recipe.code], spells[recipe.code]),
                    coming=coming,
                    **_bars(recipe.code, coming, wish, book),
                )
            )
    if not found:
        raise RuleBroken("no recipe is left to plan with")
    return found


def _not_poured(recipe: Recipe, book: _Book) -> str:
    """Why nobody should pour this recipe, or an empty text."""
    if recipe.code in book.retired:
        return f"it is retired ({book.retired[recipe.code]})"
    heavy = recipe_mark(recipe) == "LYE-HEAVY"
    return "as it is written its lye would burn" if heavy else ""


def _bars(code: str, coming: Coming, wish: Wish, book: _Book) -> dict[str, int]:
    """Bars by state; `late` is what will be there by the launch, by the late bound."""
    bars = {"ready": 0, "curing": 0, "in_mould": 0, "late": 0}
    for item in book.items:
        if item.facts.recipe_code != code:
            continue
        there = item.bars
        if item.facts.unmould is None:
            there = int(grams(item.facts.pour.batter_mg) / coming.bar_g)
        day = supply_day(item, optimistic=False)
        state = item.readiness.state
        key = {"ready": "ready", "in mould": "in_mould"}.get(state, "curing")
        if not item.stopped and state != "gone":
            bars[key] += there
        until = item.best_before
        if day is not None and day <= wish.launch and (until is None or until >= wish.launch):
            bars["late"] += there
    return bars


def _spells(desk: Desk, code: str, batches: Sequence[BatchFacts]) -> list[Spell]:
    """Spells in which a variety was on sale in the last year, and what was sold in each.

    A batch is on sale from its release (a first shipment stands for one) until its bars are gone;
    a spell that ended with none left may have turned people away.
    """
    changes: Counter[date] = Counter()
    sold: Counter[date] = Counter()
    for batch in batches:
        if batch.recipe_code != code or batch.unmould is None:
            continue
        released = [d.on for d in batch.decisions if d.decision == "release"]
        began = min([*released, *(s.on for s in batch.shipments)], default=None)
        if began is None:
            continue
        gone = sum(s.bars for s in batch.shipments)
        changes[began] += batch.in_hand + gone
        for shipment in batch.shipments:
            changes[shipment.on] -= shipment.bars
            sold[shipment.on] += shipment.bars
    spells, stock, since, count = [], 0, None, 0
    for day in sorted(changes):
        if stock <= 0 and changes[day] + sold[day] > 0:
            since, count = day, 0
        stock += changes[day]
        count += sold[day]
        if stock <= 0 and since is not None:
            spells.append((since, day, count, True))
            since = None
    if since is not None:
        spells.append((since, desk.today, count, False))
    return [
        Spell(days=float((until - start).days + 1), sold=n, sold_out=out)
        for start, until, n, out in spells
        if until >= desk.today - _YEAR
    ]


def _guesses(
    wish: Wish, book: _Book, spells: Mapping[str, list[Spell]], favour: Mapping[str, float]
) -> dict[str, float]:
    """Bars a day believed of each variety beforehand: the maker's figure, or the shop's mean."""
    share = {r.code: favour.get(r.code, 1.0) for r in book.recipes}
    total = sum(share.values())
    if wish.expected is not None:
        mean = wish.expected / ((wish.launch - wish.first).days + wish.selling_days)
        return {code: max(mean * part / total, 1e-6) for code, part in share.items()}
    every = [s for code in spells for s in spells[code]]
    sold, days = sum(s.sold for s in every), sum(s.days for s in every)
    if not sold:
        raise RuleBroken(
            "nothing was sold yet, so nothing tells what will be asked for",
            hint="say how many bars in all you think will sell",
            mend=Mend("expect_sales"),
        )
    even = total / len(share)
    return {code: max(sold / days * part / even, 1e-6) for code, part in share.items()}


def _task(
    desk: Desk, wish: Wish, book: _Book, standings: Sequence[Standing], notes: list[str]
) -> Task:
    shop = desk.shop.workshop
    window = float((wish.launch - wish.first).days + wish.selling_days)
    priced = _priced(book, standings)
    favour = wish.favour or {}
    varieties = []
    for s in standings:
        price = book.prices[s.code] if priced else 1.0
        usual = price * shop.cost_percent / 100
        varieties.append(
            Variety(
                code=s.code,
                bar_g=s.coming.bar_g,
                needs_g=s.coming.needs_g,
                late_days=s.coming.late_days,
                demand=demand(s.rate, window, sure=s.wanted + s.waits),
                there=s.late,
                least=s.wanted,
                price=price,
                cost=book.costs.get(s.code, usual) if priced else usual,
                weight=favour.get(s.code, 1.0),
                moulds=_moulds_for(desk, s.code),
            )
        )
    if not priced:
        notes.append("Every bar counts the same: not every variety has a price.")
    return Task(
        first=wish.first,
        launch=wish.launch,
        varieties=tuple(varieties),
        moulds=_moulds(desk, wish, book),
        working_days=shop.working_days,
        scarce_g=_scarce(wish, book, standings, notes),
        rack_places=book.rack_places,
        rack_used=_rack_used(wish, book),
        smallest_pot_g=float(shop.smallest_pot_g),
        largest_pot_g=float(shop.largest_pot_g) if shop.largest_pot_g is not None else None,
        pots_a_day=shop.pots_a_day,
    )


def _moulds_for(desk: Desk, code: str) -> tuple[str, ...]:
    """Moulds of its own where a recipe has some, else all that are nobody's own."""
    moulds = desk.shop.workshop.moulds
    own = tuple(name for name, mould in moulds.items() if code in mould.recipes)
    return own or tuple(name for name, mould in moulds.items() if not mould.recipes)


def _moulds(desk: Desk, wish: Wish, book: _Book) -> tuple[Mould, ...]:
    found = []
    for name, kind in desk.shop.workshop.moulds.items():
        full = [
            max(item.facts.poured_on + timedelta(days=kind.days), desk.today + timedelta(days=1))
            for item in book.items
            if item.facts.unmould is None and item.facts.pour.mould.startswith(name)
        ]
        busy = tuple(sorted(full))[: kind.count]
        found.append(Mould(name=name, bars=kind.bars, count=kind.count, days=kind.days, busy=busy))
    return tuple(found)


def _rack_used(wish: Wish, book: _Book) -> tuple[int, ...]:
    """Bars of earlier pours on the rack, day by day: each until it can be sold, by its late day."""
    used = [0] * ((wish.launch - wish.first).days + 1)
    for item in book.items:
        if item.readiness.state in ("ready", "gone", "rejected"):
            continue
        until = supply_day(item, optimistic=False) or wish.launch + timedelta(days=1)
        for n in range(min(len(used), max(0, (until - wish.first).days))):
            used[n] += item.bars
    return tuple(used)


def _scarce(
    wish: Wish, book: _Book, standings: Sequence[Standing], notes: list[str]
) -> dict[str, float]:
    """Ingredients that limit the plan: fats of own rendering, raw fat counted by its own yield."""
    needed = {key for s in standings for key in s.coming.needs_g}
    own = {lot.ingredient for lot in book.lots if lot.raw_fat_mg or lot.animal}
    own |= {key.removeprefix(RAW) for key in book.at_hand_g if key.startswith(RAW)}
    scarce = {}
    for key in sorted(needed if not wish.buying else needed & own):
        at_hand = book.at_hand_g.get(key, 0.0)
        raw = book.at_hand_g.get(f"{RAW}{key}", 0.0)
        renders = [lot for lot in book.lots if lot.ingredient == key and lot.raw_fat_mg]
        if raw and renders:
            raw_mg = sum(lot.raw_fat_mg or 0 for lot in renders)
            share = sum(lot.mass_mg for lot in renders) / raw_mg
            at_hand += raw * share
            notes.append(
                f"{format_kg(raw)} of raw fat counts as {format_kg(raw * share)} of {key}, "
                f"as your kettle gave {100 * share:.0f} % so far: render it before."
            )
        elif raw:
            notes.append(f"{format_kg(raw)} of raw fat for {key} is not counted: no yield yet.")
        scarce[key] = at_hand
    return scarce


def _made(batches: Sequence[BatchFacts]) -> tuple[int, int]:
    """Good bars and rejects out of all moulds."""
    out = [b.unmould for b in batches if b.unmould is not None]
    return sum(u.bars for u in out), sum(u.rejects for u in out)


def _used(task: Task, best: PourPlan | None) -> Counter[str]:
    """Ingredients of the planned pours, g."""
    used: Counter[str] = Counter()
    for pour in best.pours if best else ():
        v = next(x for x in task.varieties if x.code == pour.code)
        for key, mass_g in v.needs_g.items():
            used[key] += mass_g * pour.bars  # type: ignore[assignment]  # grams, not a count
    return used


def sells_out_first(seen: Planned) -> tuple[str, float] | None:
    """The variety most likely to sell out, and the chance of it; None when none is likely."""
    if seen.plan is None:
        return None
    chances = {v.code: v.demand.marginal(seen.plan.bars[v.code] + 1) for v in seen.task.varieties}
    code = max(chances, key=lambda c: (chances[c], c))
    return (code, chances[code]) if chances[code] > 0.05 else None


def next_pour(seen: Planned) -> str:
    """What to pour next, in one line with its reason."""
    return next_words(seen.task, seen.standings, seen.plan)


def next_words(task: Task, standings: Sequence[Standing], best: PourPlan | None) -> str:
    """The first pour of a plan in one line with its reason; or that there is none."""
    if best is None:
        return "Nothing can be planned within these limits."
    if not best.pours:
        return "Pour nothing: what is there covers what may be asked for."
    pour = best.pours[0]
    v = next(x for x in task.varieties if x.code == pour.code)
    s = next(x for x in standings if x.code == pour.code)
    reason = f"{v.there} bars would be there for about {math.floor(v.demand.mean)} asked for"
    if v.least > v.there:
        reason = f"orders want {v.least} and only {v.there} would be there"
    last = task.last_safe(v)
    by = f"; its last safe day is {last.day} {last:%b}" if last else ""
    when = f"{pour.day:%a} {pour.day.day} {pour.day:%b}"
    return f"Pour {pour.bars} {s.name} next, on {when}: {reason}{by}."


def record(seen: Planned) -> dict[str, Any]:
    """The plan as a JSON record."""
    best = seen.plan
    return {
        "launch": seen.wish.launch,
        "fits": best is not None,
        "next": next_pour(seen),
        "gap": best.gap if best else None,
        "expected_sold": round(best.sold, 2) if best else None,
        "pours": [
            {
                "on": p.day,
                "recipe": p.code,
                "bars": p.bars,
                "batter_g": round(p.batter_g, 1),
                "moulds": dict(p.moulds),
            }
            for p in (best.pours if best else ())
        ],
        "varieties": [_variety_record(seen, s) for s in seen.standings],
        "to_buy_g": {key: round(mass, 1) for key, mass in seen.to_buy_g.items()},
        "left_g": {key: round(mass, 1) for key, mass in seen.left_g.items()},
        "a_kg_earns": {
            key: {code: round(earned, 2) for code, earned in of.items()}
            for key, of in seen.a_kg_earns.items()
        },
        "one_more": [
            {"kind": x.limit.kind, "item": x.limit.item, "step": x.limit.step, "sold": x.sold}
            for x in seen.binds
        ],
        "must_give": [
            {"kind": g.kind, "item": g.item, "amount": g.amount, "fewer": dict(g.fewer)}
            for g in seen.gives
        ],
        "notes": list(seen.notes),
    }


def _variety_record(seen: Planned, s: Standing) -> dict[str, Any]:
    v = next(x for x in seen.task.varieties if x.code == s.code)
    return {
        "recipe": s.code,
        "ready": s.ready,
        "curing": s.curing,
        "in_mould": s.in_mould,
        "wanted": s.wanted,
        "waits": s.waits,
        "asked_for": {"low": v.demand.at_chance(0.05), "high": v.demand.at_chance(0.95)},
        "there_without": v.there,
        "on_day": seen.on_day[s.code].as_dict(),
        "last_safe": seen.task.last_safe(v),
    }
