"""Sharing an amount without losing a cent, and showing one."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction


def apportion(cents: int, weights: Sequence[int | Fraction]) -> list[int]:
    """Share an amount in proportion to weights by largest remainder; the shares add up to it.

    Each share is its exact part rounded down, and the cents that are left go one each to those
    with the largest remainders (Hare's method; of equals the first comes first).

    Raises:
        ValueError: no weights, one below zero, or all of them zero.
    """
    total = sum(weights)
    if total <= 0 or min(weights) < 0:
        raise ValueError("weights must be zero or more, and not all zero")
    exact = [Fraction(cents * weight) / total for weight in weights]
    shares = [part.numerator // part.denominator for part in exact]
    by_rest = sorted(range(len(shares)), key=lambda n: shares[n] - exact[n])
    for n in by_rest[: cents - sum(shares)]:
        shares[n] += 1
    return shares


def up_to(cents: int, done: int, whole: int) -> int:
    """What the first `done` of `whole` equal pieces carry of an amount, half a cent upward.

    The difference of two such sums is what the pieces between them carry: never more than a cent
    off their exact part, the same whatever comes after, and in all the amount. With pieces of one
    size every remainder is equal, so this is the method of the largest remainder with the odd
    cents spread evenly.
    """
    return (2 * cents * done + whole) // (2 * whole)


def amount(cents: int) -> Decimal:
    """Whole cents as an amount with two decimals.

    >>> amount(1250)
    Decimal('12.50')
    """
    return Decimal(cents).scaleb(-2)
