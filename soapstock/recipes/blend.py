"""One fat swapped for another, at the recipe's own lye demand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.profiles import blend_fractions
from soapstock.errors import BadInput
from soapstock.units import grams

COVER_SLACK = 1e-6


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
    return sum(grams(mass * _sv(fat, sv)) for fat, mass in masses_g.items())


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
    if min(covered_one, covered_two) < 1.0 - COVER_SLACK:
        return None
    keys = {*one, *two}
    return 50.0 * sum(abs(one.get(key, 0.0) - two.get(key, 0.0)) for key in keys)
