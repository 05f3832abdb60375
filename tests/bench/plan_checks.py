"""The plan against a second solver, against simple rules over seasons, and against the clock.

    python tests/bench/plan_checks.py shops [2000]   every plan against scipy's milp, and a checker
    python tests/bench/plan_checks.py seasons [500]  ranges held; sales beside three simple rules
    python tests/bench/plan_checks.py speed          seconds by days, beside the greedy rule

All random, from a fixed seed, and invented. Run them at `nice -n 19`; each takes minutes.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
from scipy import optimize, sparse

from soapstock.planning.demand import PRIOR_SHAPE, Spell, demand, learn_rate
from soapstock.planning.layout import bars_in, by_day, fillings
from soapstock.planning.plan import best_plan
from soapstock.planning.task import Mould, PlannedPour, PourPlan, Task, Variety

SEED = 20261126
MONDAY = date(2026, 11, 2)
SELLING_DAYS = 28
SHOWN = 25  # seasons after which the sums so far are told
Rule = Callable[[Task, dict[str, int]], list[Variety]]


def shop(
    rng: np.random.Generator, days: int, kinds: int, moulds: int
) -> tuple[Task, dict[str, float]]:
    """A random shop and the true rates of its varieties, bars a day."""
    truth, varieties = {}, []
    for n in range(kinds):
        code = f"{chr(65 + n)}AA"
        rate = float(rng.gamma(PRIOR_SHAPE, 0.6 / PRIOR_SHAPE)) + 1e-3
        there = int(rng.integers(0, 15))
        stock = int(rng.integers(5, 60))
        asked = int(rng.poisson(rate * 60))
        # Sold out on the day the stock was gone: what came later is not seen.
        gone = asked >= stock
        spell = Spell(
            days=60.0 * min(1.0, stock / max(asked, 1)) if gone else 60.0,
            sold=min(asked, stock),
            sold_out=gone,
        )
        seen = demand(learn_rate(0.6, [spell]), float(days + SELLING_DAYS))
        truth[code] = rate
        varieties.append(
            Variety(
                code=code,
                bar_g=120.0,
                needs_g={"beef-tallow": float(rng.integers(30, 70))},
                late_days=int(rng.integers(28, 40)) if days > 45 else int(rng.integers(3, 8)),
                demand=seen,
                there=there,
            )
        )
    kinds_of = [(20, 2, 2), (18, 1, 2), (9, 2, 1), (24, 1, 3), (12, 1, 1)]
    task = Task(
        first=MONDAY,
        launch=MONDAY + timedelta(days=days),
        varieties=tuple(varieties),
        moulds=tuple(
            Mould(name=f"m{n}", bars=bars, count=count, days=stays)
            for n, (bars, count, stays) in enumerate(kinds_of[:moulds])
        ),
        working_days=frozenset({2, 5}),
        scarce_g={"beef-tallow": float(rng.integers(2, 16)) * 1000.0},
        rack_places=int(rng.integers(100, 400)),
        smallest_pot_g=1000.0,
        largest_pot_g=5000.0,
    )
    return task, truth


def say(text: str) -> None:
    """One line, at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def fits(task: Task, pours: list[PlannedPour]) -> bool:
    """Whether pours keep every limit; written from what each limit says."""
    needs = {v.code: v.needs_g["beef-tallow"] for v in task.varieties}
    days = [task.first + timedelta(days=n) for n in range((task.launch - task.first).days + 1)]
    return (
        sum(p.bars * needs[p.code] for p in pours) <= task.scarce_g["beef-tallow"] + 1e-6
        and len({p.day for p in pours}) == len(pours)
        and all(pot_fits(task, p) for p in pours)
        and all(day_fits(task, pours, day) for day in days)
    )


def pot_fits(task: Task, p: PlannedPour) -> bool:
    """Whether a pot is of a size, in time and on a day one works."""
    late = next(v.late_days for v in task.varieties if v.code == p.code)
    return (
        p.day.weekday() in task.working_days
        and task.first <= p.day
        and p.day + timedelta(days=late) <= task.launch
        and task.smallest_pot_g <= p.batter_g <= (task.largest_pot_g or 1e9)
    )


def day_fits(task: Task, pours: list[PlannedPour], day: date) -> bool:
    """Whether moulds and racks hold all that is in them that day."""
    late = {v.code: v.late_days for v in task.varieties}
    mould = {m.name: m for m in task.moulds}
    used, rack = dict.fromkeys(mould, 0), 0
    for p in pours:
        age = (day - p.day).days
        for name, count in p.moulds:
            used[name] += count * (0 <= age < mould[name].days)
            rack += count * mould[name].bars * (mould[name].days <= age < late[p.code])
    return all(used[name] <= m.count for name, m in mould.items()) and (
        task.rack_places is None or rack <= task.rack_places
    )


def by_rule(task: Task, rule: Rule) -> list[PlannedPour]:
    """A simple maker: each day the largest pot that fits, of the first variety the rule names."""
    pours: list[PlannedPour] = []
    bars = {v.code: v.there for v in task.varieties}
    for day in task.days():
        for v in rule(task, bars):
            ways = sorted(fillings(task, v), key=lambda way: -bars_in(task, way))
            made = next(
                (pour for way in ways if fits(task, [*pours, pour := _pour(task, day, v, way)])),
                None,
            )
            if made is not None:
                pours.append(made)
                bars[v.code] += made.bars
                break
    return pours


def _pour(task: Task, day: date, v: Variety, way: tuple[int, ...]) -> PlannedPour:
    filled = tuple((m.name, n) for m, n in zip(task.moulds, way, strict=True) if n)
    bars = bars_in(task, way)
    return PlannedPour(day=day, code=v.code, moulds=filled, bars=bars, batter_g=bars * v.bar_g)


RULES: dict[str, Rule] = {
    "even pots": lambda task, bars: sorted(task.varieties, key=lambda v: bars[v.code]),
    "favourites first": lambda task, _: sorted(task.varieties, key=lambda v: -v.demand.mean),
    "sell-out first": lambda task, bars: sorted(
        task.varieties, key=lambda v: -v.demand.marginal(bars[v.code] + 1)
    ),
}


def totals(task: Task, pours: list[PlannedPour]) -> dict[str, int]:
    """Bars of each variety there on the day."""
    bars = {v.code: v.there for v in task.varieties}
    for pour in pours:
        bars[pour.code] += pour.bars
    return bars


def shops(count: int) -> None:
    """Each plan against scipy's milp on the program day by day, and against the checker."""
    rng = np.random.default_rng(SEED)
    worst, wrong, unproved, broken = 0.0, 0, 0, 0
    for n in range(count):
        task, _ = shop(rng, int(rng.integers(6, 16)), int(rng.integers(1, 5)), 1 + n % 3)
        task = replace(
            task,
            scarce_g={"beef-tallow": float(rng.integers(1, 8)) * 500.0},
            rack_places=int(rng.integers(10, 120)),
            smallest_pot_g=float(rng.choice([0.0, 2000.0])),
        )
        plan = best_plan(task)
        program = by_day(task).program
        if not program.gain or plan is None:
            wrong += plan is None
            continue
        theirs = milp(program)
        there = sum(v.demand.expected_sales(v.there) for v in task.varieties)
        off = abs(plan.value - (there + theirs))
        worst = max(worst, off)
        wrong += off > 1e-4
        unproved += plan.gap > 0
        broken += not fits(task, list(plan.pours))
    say(
        f"{count} random shops: {wrong} differ from scipy's milp (largest difference {worst:.1e} "
        f"bars), {unproved} with a gap, {broken} break a limit"
    )


def milp(program: object) -> float:
    """The best value by scipy."""
    p = program
    data = [(k, c, x) for k, (_, _, parts) in enumerate(p.rows) for c, x in parts.items()]  # type: ignore[attr-defined]
    rows, columns, values = zip(*data, strict=True)
    shape = (len(p.rows), len(p.gain))  # type: ignore[attr-defined]
    found = optimize.milp(
        -np.array(p.gain),  # type: ignore[attr-defined]
        constraints=optimize.LinearConstraint(
            sparse.csr_matrix((values, (rows, columns)), shape=shape),
            [low for low, _, _ in p.rows],  # type: ignore[attr-defined]
            [high for _, high, _ in p.rows],  # type: ignore[attr-defined]
        ),
        integrality=np.array(p.whole, dtype=int),  # type: ignore[attr-defined]
        bounds=optimize.Bounds(p.lower, p.upper),  # type: ignore[attr-defined]
        options={"mip_rel_gap": 0.0},
    )
    return -float(found.fun)


def seasons(count: int) -> None:
    """What each rule and the plan sell, as believed, as the truth is on average, and once."""
    rng = np.random.default_rng(SEED + 1)
    inside = of = 0
    names = ["plan", *RULES]
    sums = {kind: dict.fromkeys(names, 0.0) for kind in ("believed", "true mean", "one season")}
    good = dict.fromkeys(sums, 0)
    for done in range(1, count + 1):
        task, truth = shop(rng, int(rng.integers(50, 70)), int(rng.integers(3, 7)), 3)
        plan = best_plan(task)
        assert plan is not None
        assert fits(task, list(plan.pours))
        made = {"plan": dict(plan.bars)}
        made |= {name: totals(task, by_rule(task, rule)) for name, rule in RULES.items()}
        window = (task.launch - task.first).days + SELLING_DAYS
        draws = {code: rng.poisson(rate * window, 400) for code, rate in truth.items()}
        for v in task.varieties:
            asked = int(draws[v.code][0])
            inside += v.demand.at_chance(0.05) <= asked <= v.demand.at_chance(0.95)
            of += 1
        sold = {
            "believed": {
                n: sum(v.demand.expected_sales(b[v.code]) for v in task.varieties)
                for n, b in made.items()
            },
            "true mean": {
                n: sum(float(np.minimum(draws[c], b[c]).mean()) for c in truth)
                for n, b in made.items()
            },
            "one season": {
                n: float(sum(min(int(draws[c][0]), b[c]) for c in truth)) for n, b in made.items()
            },
        }
        for kind, by_name in sold.items():
            for name in names:
                sums[kind][name] += by_name[name]
            good[kind] += by_name["plan"] >= max(by_name[n] for n in RULES) - 1e-6
        if done % SHOWN == 0 or done == count:
            _tell(done, inside / of, sums, good)


def _tell(
    count: int, inside: float, sums: dict[str, dict[str, float]], good: dict[str, int]
) -> None:
    say(f"{count} seasons: later demand within its 90 % range in {100 * inside:.1f} %")
    for kind, by_name in sums.items():
        means = ", ".join(f"{name} {total / count:.1f}" for name, total in by_name.items())
        share = 100 * good[kind] / count
        say(f"bars sold, {kind}: {means}; plan no worse than the best rule in {share:.1f} %")


def speed() -> None:
    """7 varieties, 3 mould sets: seconds to plan and of the greedy rule in the same run."""
    for days in (14, 30, 60, 90):
        rng = np.random.default_rng(SEED + 2)
        task, _ = shop(rng, days, 7, 3)
        if days <= 45:  # a bar that cures in a month is poured on no day of these
            task = replace(task, varieties=tuple(replace(v, late_days=5) for v in task.varieties))
        task = replace(
            task,
            scarce_g={"beef-tallow": 20_000.0},
            rack_places=400,
            working_days=frozenset({1, 3, 5}),
        )
        plan, took = timed(lambda task=task: best_plan(task))
        _, simple = timed(lambda task=task: by_rule(task, RULES["sell-out first"]))
        assert isinstance(plan, PourPlan)
        say(
            f"{days} days: {len(plan.pours)} pours, {took:.2f} s, greedy {simple:.3f} s "
            f"({took / simple:.1f} times), gap {plan.gap:g}"
        )


def timed(work: Callable[[], object]) -> tuple[object, float]:
    """The least of three runs, or of one that takes long."""
    best, out = float("inf"), None
    for _ in range(3):
        begun = time.perf_counter()
        out = work()
        best = min(best, time.perf_counter() - begun)
        if best > 5.0:
            break
    return out, best


if __name__ == "__main__":
    what = sys.argv[1] if len(sys.argv) > 1 else ""
    number = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    if what == "shops":
        shops(number or 2000)
    elif what == "seasons":
        seasons(number or 500)
    elif what == "speed":
        speed()
    else:
        sys.exit(__doc__)
