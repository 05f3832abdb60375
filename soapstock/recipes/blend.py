"""A blend near the recipe from what is in the store, at the recipe's own lye demand.

Two ways: swap one fat for another at equal lye demand; or let the fats in store come as near as
they can to the recipe's fatty acids. The second minimises the squared distance of the fatty-acid
masses, with a light pull towards the recipe's own masses, within the store and at equal lye demand;
a projected gradient finds it (the problem is convex, so its minimum is the only one).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.profiles import acids, blend_fractions, profiles_of
from soapstock.errors import BadInput, RuleBroken

if TYPE_CHECKING:
    from numpy import ndarray

ROUNDS = 4000
STAY_PULL = 1e-3  # weight of staying at the recipe's masses, against the acids' distance
LEAST_G = 0.5  # less than this of a fat is left out
DEMAND_SLACK = 1e-6
STILL = 1e-8  # of the fats' mass: a round that moves less has arrived


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One fat before and after, g."""

    fat: str
    name: str
    before_g: float
    after_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Blend:
    """A blend at the recipe's lye demand.

    Attributes:
        masses_g: the new fats.
        changes: fat by fat, the largest first.
        acid_distance_percent: half the summed difference of the fatty-acid shares, 0-100: the part
            of the acids that is not the recipe's; None when a profile is missing.
        order_before, order_after: fats by falling mass, as a declaration would list them.
        demand_g_koh: KOH that the fats take, g, before and after alike.
    """

    masses_g: Mapping[str, float]
    changes: tuple[Change, ...]
    acid_distance_percent: float | None
    order_before: tuple[str, ...]
    order_after: tuple[str, ...]
    demand_g_koh: float


def _sv(fat: str, sv: Mapping[str, Interval] | None) -> float:
    return ((sv or {}).get(fat) or get_fat(fat).sv).nominal


def lye_weight(masses_g: Mapping[str, float], sv: Mapping[str, Interval] | None = None) -> float:
    """Lye demand of a blend, g KOH, at the nominal saponification values."""
    return sum(mass * _sv(fat, sv) / 1000.0 for fat, mass in masses_g.items())


def substitute(
    masses_g: Mapping[str, float],
    out: str,
    into: str,
    *,
    share: float = 1.0,
    sv: Mapping[str, Interval] | None = None,
) -> Blend:
    """Swap a share (0-1) of one fat for another that takes the same lye.

    Raises:
        BadInput: the fat is not in the blend, or the share is not above 0 and at most 1.
        NotFound: no such fat.
    """
    if out not in masses_g:
        raise BadInput(f"'{out}' is not in the recipe", hint=f"one of: {', '.join(masses_g)}")
    if not 0.0 < share <= 1.0:
        raise BadInput(f"share {share:g} is not above 0 and at most 1")
    taken = masses_g[out] * share
    new = dict(masses_g)
    new[out] -= taken
    new[into] = new.get(into, 0.0) + taken * _sv(out, sv) / _sv(into, sv)
    return _blend(masses_g, {fat: mass for fat, mass in new.items() if mass > 0.0}, sv)


def nearest_blend(
    masses_g: Mapping[str, float],
    store_g: Mapping[str, float],
    *,
    least_g: Mapping[str, float] | None = None,
    sv: Mapping[str, Interval] | None = None,
) -> Blend:
    """The blend of the fats in store nearest to the recipe's fatty acids, at equal lye demand.

    Args:
        masses_g: the recipe's fats, g.
        store_g: most of each fat that may be used, g; a fat not named is not there.
        least_g: least of a fat that must be used, g.
        sv: saponification values to use instead of the table's, by fat key.

    Raises:
        RuleBroken: all fats in store together take less lye than the recipe's.
        BadInput: a fat of the recipe has no fatty-acid profile and is not all in store, or a
            least mass is more than there is.
    """
    fixed = {fat: mass for fat, mass in masses_g.items() if not profiles_of(fat)}
    for fat, mass in fixed.items():
        if store_g.get(fat, 0.0) < mass:
            raise BadInput(
                f"no fatty-acid profile of {fat} is known, so nothing can stand in for it",
                hint="swap it by name instead",
            )
    usable = [fat for fat, mass in store_g.items() if mass > 0.0 and profiles_of(fat)]
    wanted = {fat: mass for fat, mass in masses_g.items() if fat not in fixed}
    demand = lye_weight(wanted, sv)
    most = lye_weight({fat: store_g[fat] for fat in usable}, sv)
    if most < demand * (1.0 - DEMAND_SLACK):
        raise RuleBroken(
            f"the fats in store take lye for {100.0 * most / demand:.0f} % of this recipe",
            hint="make a smaller batch, or receive more fat",
        )
    least = _least(least_g or {}, usable, store_g)
    if lye_weight(least, sv) > demand:
        raise RuleBroken("the least masses asked for take more lye than the whole recipe")
    limits = {fat: (least.get(fat, 0.0), store_g[fat]) for fat in usable}
    found = _solve(wanted, limits, [_sv(fat, sv) / 1000.0 for fat in usable], demand)
    return _blend(masses_g, found | fixed, sv)


def _least(
    least_g: Mapping[str, float], usable: Sequence[str], store_g: Mapping[str, float]
) -> Mapping[str, float]:
    for fat, mass in least_g.items():
        if fat not in usable or not 0.0 <= mass <= store_g[fat]:
            raise BadInput(
                f"at least {mass:g} g of {fat} cannot be used",
                hint=f"in store, with a known profile: {', '.join(usable)}",
            )
    return least_g


def _solve(
    wanted: Mapping[str, float],
    limits: Mapping[str, tuple[float, float]],
    weights: Sequence[float],
    demand: float,
) -> dict[str, float]:
    import numpy as np  # noqa: PLC0415  heavy, and only this needs it

    names, usable = list(acids()), list(limits)
    total = sum(wanted.values())

    def acid_matrix(fats: Sequence[str]) -> ndarray:
        rows = [profiles_of(fat)[0].fractions() for fat in fats]
        return np.array([[row.get(name, 0.0) for name in names] for row in rows]).T

    goal = acid_matrix(list(wanted)) @ np.array([mass / total for mass in wanted.values()])
    matrix = acid_matrix(usable)
    start = np.array([wanted.get(fat, 0.0) / total for fat in usable])
    bottom, top = np.array(list(limits.values())).T / total
    weight = np.array(weights)
    need = demand / total
    step = 1.0 / (np.linalg.norm(matrix.T @ matrix, 2) + STAY_PULL)
    x = ahead = _onto_demand(start, (bottom, top), weight, need)
    momentum = 1.0
    for _ in range(ROUNDS):
        slope = matrix.T @ (matrix @ ahead - goal) + STAY_PULL * (ahead - start)
        new = _onto_demand(ahead - step * slope, (bottom, top), weight, need)
        after = (1.0 + (1.0 + 4.0 * momentum**2) ** 0.5) / 2.0
        ahead = new + (momentum - 1.0) / after * (new - x)
        if float(np.abs(new - x).max()) < STILL:
            x = new
            break
        x, momentum = new, after
    kept = {fat: float(mass) * total for fat, mass in zip(usable, x, strict=True)}
    return _drop_traces(kept, dict(zip(usable, weights, strict=True)), limits, demand)


def _onto_demand(
    point: ndarray, limits: tuple[ndarray, ndarray], weight: ndarray, need: float
) -> ndarray:
    """Nearest point within the limits whose weighted sum meets the lye demand."""
    import numpy as np  # noqa: PLC0415  heavy, and only this needs it

    bottom, top = limits
    low, high = float(((point - top) / weight).min()), float(((point - bottom) / weight).max())
    for _ in range(48):
        middle = (low + high) / 2.0
        if float(weight @ np.minimum(np.maximum(point - middle * weight, bottom), top)) > need:
            low = middle
        else:
            high = middle
    return np.clip(point - (low + high) / 2.0 * weight, bottom, top)


def _drop_traces(
    masses_g: Mapping[str, float],
    weights: Mapping[str, float],
    limits: Mapping[str, tuple[float, float]],
    demand: float,
) -> dict[str, float]:
    """Leave out traces; the fat with most room takes up their lye demand."""
    kept = {fat: mass for fat, mass in masses_g.items() if mass >= LEAST_G}
    missing = demand - sum(mass * weights[fat] for fat, mass in kept.items())
    room = {fat: limits[fat][1] - mass for fat, mass in kept.items()}
    filler = max(room, key=lambda fat: room[fat] if missing > 0.0 else kept[fat])
    kept[filler] += missing / weights[filler]
    return kept


def _blend(
    before: Mapping[str, float], after: Mapping[str, float], sv: Mapping[str, Interval] | None
) -> Blend:
    changes = [
        Change(
            fat=fat,
            name=get_fat(fat).trade_name,
            before_g=before.get(fat, 0.0),
            after_g=after.get(fat, 0.0),
        )
        for fat in dict.fromkeys((*before, *after))
    ]
    return Blend(
        masses_g=after,
        changes=tuple(sorted(changes, key=lambda c: -abs(c.after_g - c.before_g))),
        acid_distance_percent=_distance(before, after),
        order_before=_order(before),
        order_after=_order(after),
        demand_g_koh=lye_weight(after, sv),
    )


def _order(masses_g: Mapping[str, float]) -> tuple[str, ...]:
    return tuple(sorted(masses_g, key=lambda fat: -masses_g[fat]))


def _distance(before: Mapping[str, float], after: Mapping[str, float]) -> float | None:
    one, covered_one = blend_fractions(before)
    two, covered_two = blend_fractions(after)
    if min(covered_one, covered_two) < 1.0 - DEMAND_SLACK:
        return None
    keys = {*one, *two}
    return 50.0 * sum(abs(one.get(key, 0.0) - two.get(key, 0.0)) for key in keys)
