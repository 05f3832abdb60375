"""The public pages behind the codes on the bars, as HTML: no script, nothing fetched.

A page is made of the records below and of the words of tables/names/pages.toml, so it can tell
nothing else. It is one file with its own few styles, whole in every language asked for, and reads
and prints without colour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, Literal

from jinja2 import Environment, PackageLoader, StrictUndefined

from soapstock.codes.lot import LotCode
from soapstock.labelling.recall_notice import headline
from soapstock.labelling.words import date_text
from soapstock.tables import read_toml

WORDS = "names/pages.toml"

Stands = Literal["for sale", "held", "rejected", "recalled"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PublicRecall:
    """A recall as customers are told of it.

    Attributes:
        hazard, remedy: the maker's words for customers; either may be empty.
        lots: every lot of bars it reaches, with the name on their labels.
        bars: how many left the shop; first, last: the days of the first and the last.
    """

    key: int
    on: date
    hazard: str
    remedy: str
    lots: tuple[tuple[LotCode, str], ...]
    bars: int
    first: date | None
    last: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo of a lot: its file is named by what is in it.

    Attributes:
        key: the entry that holds it.
        width, height: in pixels.
        sha256: of the JPEG.
    """

    key: int
    width: int
    height: int
    sha256: str

    @property
    def path(self) -> str:
        """Where its file lies below the root of the site."""
        return f"photo/{self.sha256}.jpg"


@dataclass(frozen=True, slots=True, kw_only=True)
class PublicLot:
    """A lot as its page tells it.

    Attributes:
        stands: whether it may be sold, and if not, why.
        whole: the lot was released once, so that all of it is told; else only how it stands.
        ingredients: the list as it stands on the lot's label, heading included.
        net: the net weight as the label words it; empty where none is declared.
        precautions: as the label words them, law and recipe both; empty for none.
        released_on: the day of its first release.
        farm_fats: names of the fats rendered on the farm; empty unless the shop tells them.
        curve: days since the pour and mass of one bar, g: out of the mould, then each weigh-in.
        recalls: the keys of the recalls that reach it.
        photo: shown if the shop wants it and there is one.
    """

    code: LotCode
    recipe_code: str
    gtin: str | None
    name: str
    identity: str
    stands: Stands
    whole: bool
    made_on: date
    ingredients: str = ""
    net: str = ""
    precautions: str = ""
    released_on: date | None = None
    best_before: date | None = None
    farm_fats: tuple[str, ...] = ()
    curve: tuple[tuple[int, float], ...] = ()
    recalls: tuple[int, ...] = ()
    photo: Photo | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What stands on every page: who made the soap, in which languages, how it is kept and used.

    `use` is the maker's own words; empty takes ours in each language.
    """

    maker: str
    address: tuple[str, ...]
    contact: str
    languages: tuple[str, ...]
    use: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """A lot as an index lists it: where its page is, below the root, and how it stands."""

    code: LotCode
    path: str
    made_on: date
    stands: Stands


@dataclass(frozen=True, slots=True, kw_only=True)
class Variety:
    """A variety as an index lists it."""

    code: str
    name: str
    lots: int


def words_for(language: str) -> Mapping[str, Any]:
    """The words of the pages in a language."""
    found: Mapping[str, Any] = read_toml(WORDS)["words"][language]
    return found


@cache
def _templates() -> Environment:
    found = Environment(
        loader=PackageLoader("soapstock.exchange", "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters["day"] = date_text
    return found


def _page(template: str, site: Site, where: int | str, **values: Any) -> bytes:
    """A page: how many folders below the root of the site, or the root's own path."""
    root = "../" * where if isinstance(where, int) else where
    spoken = [(one, words_for(one)) for one in site.languages]
    text = (
        _templates()
        .get_template(template)
        .render(site=site, spoken=spoken, root=root, headline=headline(), **values)
    )
    return text.encode("utf-8")


def lot_page(site: Site, lot: PublicLot, recalls: Sequence[PublicRecall], *, depth: int) -> bytes:
    """The page of a lot; a notice of recall, or that it is held, stands at its top.

    Args:
        recalls: those that reach the lot.
        depth: folders between the page and the root of the site.
    """
    return _page("lot.html", site, depth, lot=lot, recalls=recalls, chart=_chart(lot.curve))


def variety_page(
    site: Site, name: str, lots: Sequence[Listed], *, newer: str, older: str, depth: int
) -> bytes:
    """Some lots of a variety, with the way to newer and older ones (empty: there are none)."""
    return _page("variety.html", site, depth, name=name, lots=lots, newer=newer, older=older)


def index_page(site: Site, varieties: Sequence[Variety]) -> bytes:
    """The first page: every variety."""
    return _page("index.html", site, 0, varieties=varieties)


def recalls_page(site: Site, recalls: Sequence[PublicRecall]) -> bytes:
    """Every recall, newest first."""
    return _page("recalls.html", site, 1, recalls=list(reversed(recalls)))


def missing_page(site: Site, base: str) -> bytes:
    """What a server shows for any address that has no page: help with a mistyped code.

    Args:
        base: path of the site's root on its server, for it is shown at any depth.
    """
    return _page("missing.html", site, base)


WIDE, HIGH, LEFT, FOOT = 320, 120, 40, 18  # of the drying curve, in its own units


def _chart(curve: Sequence[tuple[int, float]]) -> Mapping[str, Any] | None:
    """The points of a drying curve in its picture's units; None where there is no line to draw."""
    days = [day for day, _ in curve]
    if len(curve) < 2 or days[0] == days[-1]:  # noqa: PLR2004 - a line has two ends
        return None
    low, high = min(g for _, g in curve), max(g for _, g in curve)
    span, length = max(high - low, 0.1), days[-1] - days[0]
    points = [
        (
            round(LEFT + (day - days[0]) / length * (WIDE - LEFT - 8), 1),
            round(8 + (high - g) / span * (HIGH - FOOT - 16), 1),
        )
        for day, g in curve
    ]
    return {"points": points, "low": low, "high": high, "first": days[0], "last": days[-1]}
