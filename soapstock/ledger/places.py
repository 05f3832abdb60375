"""Kinds of place and what each is for, said once; rules, readings and SQL are made from it.

A place has a name and a kind. The built-in places are named as their kind; a maker adds others,
such as a `rack-2` or a `counter` of kind `shelf`. Never ask a place's name what may be done there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

PlaceKind = Literal[
    "supplier",
    "store",
    "pot",
    "mould",
    "rack",
    "shelf",
    "retained",
    "returned",
    "customer",
    "given",
    "waste",
    "count-difference",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What a kind of place is for.

    Attributes:
        holds: stock lies there that one can take, move or count.
        for_sale: what lies there may be used, promised or sold.
        real: what is there exists; elsewhere the book only says where it came from or went.
        open: a batch that has anything there is not gone yet.
        free: it may go below zero, as all that ever came from there did.
        added: a maker may add places of this kind.
    """

    holds: bool = False
    for_sale: bool = False
    real: bool = False
    open: bool = False
    free: bool = False
    added: bool = False


KINDS: dict[PlaceKind, Use] = {
    "supplier": Use(free=True),
    "store": Use(holds=True, for_sale=True, real=True, open=True, added=True),
    "pot": Use(free=True),
    "mould": Use(open=True),
    "rack": Use(holds=True, for_sale=True, real=True, open=True, added=True),
    "shelf": Use(holds=True, for_sale=True, real=True, open=True, added=True),
    "retained": Use(holds=True, real=True),
    "returned": Use(holds=True, real=True, open=True),
    "customer": Use(real=True),
    "given": Use(real=True),
    "waste": Use(real=True),
    "count-difference": Use(free=True),
}


def kinds_that(what: str) -> frozenset[str]:
    """The kinds of place that have one of the uses, such as `for_sale`."""
    return frozenset(kind for kind, use in KINDS.items() if getattr(use, what))


def only(column: str, *uses: str) -> str:
    """SQL that holds where a column names a place with any of the uses.

    A place that a maker adds has all uses but `free` (its kind is one of those with `added`), so
    it is enough to leave out the built-in ones without; they are named as their kind.
    """
    without = [kind for kind in KINDS if not any(kind in kinds_that(use) for use in uses)]
    return f"{column} NOT IN ({', '.join(repr(kind) for kind in without)})"
