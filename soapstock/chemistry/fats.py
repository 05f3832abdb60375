"""The fats the program knows: names, saponification values, other figures, all with sources."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextvars import ContextVar
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache, lru_cache
from types import MappingProxyType

from soapstock.chemistry.interval import Interval
from soapstock.errors import BadTable, NotFound
from soapstock.tables import read_csv

NAME_COLUMNS = (
    "fat",
    "trade_name",
    "common_name",
    "inci",
    "inci_us",
    "sodium_salt",
    "potassium_salt",
    "confidence",
    "kind",
    "aliases",
    "note",
)
SV_COLUMNS = ("fat", "low", "usual", "high", "source", "confidence", "chosen", "why")
FIGURE_COLUMNS = ("fat", "figure", "low", "high", "unit", "source", "confidence")


@dataclass(frozen=True, slots=True, kw_only=True)
class SourcedRange:
    """A published range of one figure; None at an end the source leaves open.

    Attributes:
        figure: `saponification_value`, `iodine_value`, `unsaponifiable`, `melting_range`, `titre`.
        chosen: whether the program uses this one; `why` says for what reason.
        usual: value lye is reckoned from; None takes the middle of the range.
    """

    figure: str
    low: float | None
    high: float | None
    unit: str
    source: str
    confidence: str
    chosen: bool = False
    why: str = ""
    usual: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fat:
    """A fat, oil, butter, wax or acid that takes lye.

    Attributes:
        key: our own hyphened name, such as `beef-tallow`.
        trade_name: what a maker calls it; `common_name`: plain label English.
        inci: EU label name; `inci_us`: US-style label name.
        sodium_salt: label name of its soap, or None when the inventory that was read has none: a
            finished-soap label then lists the fat plus Sodium Hydroxide. `potassium_salt` likewise.
        sv: saponification value in use, mg KOH/g, with its `sv_source` and `sv_confidence`.
        kind: `glyceride`, `wax` (gives no glycerol) or `acid` (no glycerol, makes water).
        sv_ranges: every published range; `figures`: other figures.
        acid_value: usual free acid, mg KOH/g, part of the SV; `moisture_percent`: usual water in
            it as weighed. Zero in the tables; a shop may state them for its own fat.
    """

    key: str
    trade_name: str
    common_name: str
    inci: str
    inci_us: str
    sodium_salt: str | None
    potassium_salt: str | None
    sv: Interval
    sv_source: str
    sv_confidence: str
    kind: str = "glyceride"
    aliases: tuple[str, ...] = ()
    note: str = ""
    names_confidence: str = "read"
    sv_ranges: tuple[SourcedRange, ...] = ()
    figures: tuple[SourcedRange, ...] = ()
    acid_value: float = 0.0
    moisture_percent: float = 0.0

    def figure(self, name: str) -> SourcedRange | None:
        """The first published range of a figure such as `iodine_value`, or None."""
        return next((row for row in self.figures if row.figure == name), None)


def _number(text: str) -> float | None:
    return float(text) if text else None


def _ranges() -> dict[str, list[SourcedRange]]:
    found: dict[str, list[SourcedRange]] = {}
    for row in read_csv("chemistry/saponification.csv", SV_COLUMNS):
        low, high = float(row["low"]), float(row["high"])
        usual = _number(row["usual"])
        if not 0.0 < low <= (usual or high) <= high:
            raise BadTable(f"saponification.csv: {row['fat']} {low:g} to {high:g} is not a range")
        found.setdefault(row["fat"], []).append(
            SourcedRange(
                figure="saponification_value",
                low=low,
                high=high,
                unit="mg KOH/g",
                source=row["source"],
                confidence=row["confidence"],
                chosen=row["chosen"] == "yes",
                why=row["why"],
                usual=usual,
            )
        )
    return found


def _figures() -> dict[str, list[SourcedRange]]:
    found: dict[str, list[SourcedRange]] = {}
    for row in read_csv("chemistry/figures.csv", FIGURE_COLUMNS):
        found.setdefault(row["fat"], []).append(
            SourcedRange(
                figure=row["figure"],
                low=_number(row["low"]),
                high=_number(row["high"]),
                unit=row["unit"],
                source=row["source"],
                confidence=row["confidence"],
            )
        )
    return found


def _in_use(low: float, usual: float | None, high: float) -> Interval:
    between = Interval.between(low, high)
    return between if usual is None else replace(between, nominal=usual)


def _fat(row: Mapping[str, str], ranges: list[SourcedRange], figures: list[SourcedRange]) -> Fat:
    chosen = [one for one in ranges if one.chosen]
    if len(chosen) != 1 or chosen[0].low is None or chosen[0].high is None:
        raise BadTable(f"saponification.csv: {row['fat']} has {len(chosen)} chosen rows, not one")
    return Fat(
        key=row["fat"],
        trade_name=row["trade_name"],
        common_name=row["common_name"],
        inci=row["inci"],
        inci_us=row["inci_us"],
        sodium_salt=row["sodium_salt"] or None,
        potassium_salt=row["potassium_salt"] or None,
        sv=_in_use(chosen[0].low, chosen[0].usual, chosen[0].high),
        sv_source=chosen[0].source,
        sv_confidence=chosen[0].confidence,
        kind=row["kind"],
        aliases=tuple(alias.strip() for alias in row["aliases"].split(",") if alias.strip()),
        note=row["note"],
        names_confidence=row["confidence"],
        sv_ranges=tuple(ranges),
        figures=tuple(figures),
    )


_own: ContextVar[tuple[Fat, ...]] = ContextVar("own_fats", default=())


def use_own_fats(fats: Iterable[Fat]) -> None:
    """Add a shop's own fats to those of the tables, in this context, until others are used.

    An open shop does so whenever its ledger is read or written, so that shops open side by side do
    not see each other's. A fat with the key of a table's replaces it: the shop knows its own fat
    best. An empty list goes back to the tables alone.
    """
    _own.set(tuple(fats))


def own_fats() -> tuple[Fat, ...]:
    """The shop's own fats in use; what is kept of an answer that fats decide is kept under them."""
    return _own.get()


def all_fats() -> Mapping[str, Fat]:
    """Every fat by key: the tables', and the shop's own if it has any.

    Raises:
        BadTable: a table names an unknown fat or chooses none or two of its ranges.
    """
    own = _own.get()
    return _with(own) if own else shipped_fats()


@lru_cache(maxsize=8)
def _with(own: tuple[Fat, ...]) -> Mapping[str, Fat]:
    return MappingProxyType({**shipped_fats(), **{fat.key: fat for fat in own}})


@cache
def shipped_fats() -> Mapping[str, Fat]:
    """Every fat of the tables by key. Raises BadTable."""
    names = read_csv("chemistry/fats.csv", NAME_COLUMNS)
    ranges, figures = _ranges(), _figures()
    fats = {
        row["fat"]: _fat(row, ranges.get(row["fat"], []), figures.get(row["fat"], []))
        for row in names
    }
    for key in (*ranges, *figures):
        if key not in fats:
            raise BadTable(f"a table of fats has a row for '{key}', which fats.csv does not name")
    return MappingProxyType(fats)


def get_fat(key: str) -> Fat:
    """The fat of that key.

    Raises:
        NotFound: no such fat; the hint names the nearest keys.
    """
    fats = all_fats()
    if key in fats:
        return fats[key]
    raise NotFound(f"no fat '{key}'", hint=_near_hint(key, fats))


def _near_hint(key: str, fats: Mapping[str, Fat]) -> str:
    wanted = key.strip().lower().replace(" ", "-").replace("_", "-")
    spoken = _spoken(fats)
    near = [fat for fat in fats if wanted and (wanted in fat or fat in wanted)]
    near += [spoken[name] for name in get_close_matches(wanted, spoken, n=4, cutoff=0.6)]
    unique = list(dict.fromkeys(near))[:4]
    return f"did you mean {', '.join(unique)}?" if unique else "see the list of fats: fat list"


def fat_called(name: str) -> Fat | None:
    """The fat that goes by this name in the trade, such as `shea-butter`, or None."""
    fats = all_fats()
    return fats.get(_spoken(fats).get(name, name))


def _spoken(fats: Mapping[str, Fat]) -> dict[str, str]:
    """The key behind each name: a key itself, else a trade name, before what may mean several."""
    found: dict[str, str] = {}
    for names in zip(*(_said(fat)[:3] for fat in fats.values()), strict=True):
        for fat, name in zip(fats.values(), names, strict=True):
            found.setdefault(_as_key(name), fat.key)
    for fat in fats.values():
        for name in fat.aliases:
            found.setdefault(_as_key(name), fat.key)
    return found


def _as_key(name: str) -> str:
    return "-".join(name.lower().replace(",", " ").split())


def _said(fat: Fat) -> tuple[str, ...]:
    return (fat.key, fat.trade_name, fat.common_name, *fat.aliases)
