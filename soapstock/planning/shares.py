"""Bars that do not reach for all who wait: fair shares, or first come, first served."""

from __future__ import annotations

from collections.abc import Sequence


def fair_shares(asked: Sequence[int], there: int) -> list[int]:
    """Whole bars for each, max-min fair: nobody's few bars buy another's many.

    Shares rise together; who has all that was asked for stops. Of what cannot be split, one bar
    goes to each of those who came first. No share could then be larger without making smaller one
    that is no larger, but for the last bar (max-min fairness: Bertsekas and Gallager, Data
    Networks, 2nd ed., 1992, section 6.5.2, from memory).

    Args:
        asked: bars each asked for, who came first at the front.
    """
    shares = [0] * len(asked)
    left = max(there, 0)
    open_ = [n for n, bars in enumerate(asked) if bars > 0]
    while open_ and left >= len(open_):
        step = min(left // len(open_), *(asked[n] - shares[n] for n in open_))
        for n in open_:
            shares[n] += step
        left -= step * len(open_)
        open_ = [n for n in open_ if shares[n] < asked[n]]
    for n in open_[:left]:
        shares[n] += 1
    return shares


def first_come(asked: Sequence[int], there: int) -> list[int]:
    """Bars for each in the order they came, until none are left."""
    shares, left = [], max(there, 0)
    for bars in asked:
        shares.append(min(bars, left))
        left -= shares[-1]
    return shares
