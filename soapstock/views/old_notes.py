"""A maker's old notes read page by page: what is understood, what is guessed, what is missing."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal

from dateutil.parser import ParserError
from dateutil.parser import parse as parse_date

from soapstock.chemistry.fats import all_fats
from soapstock.desk.desk import Desk
from soapstock.desk.finding import parsed_recipe
from soapstock.desk.ingredients import canonical, known_keys
from soapstock.errors import BadInput
from soapstock.exchange.notes import FIELDS, NotesMap, Page
from soapstock.recipes.incomplete import (
    OTHER,
    Noted,
    Reading,
    possible_fats,
    question,
    readings,
)
from soapstock.recipes.keys import keys_meant
from soapstock.tables import read_toml
from soapstock.units import mass_words, parse_mass_g

_UNIT = r"(?:mg|kg|g|grams?|kilos?|oz|ounces?|lbs?|pounds?)"
_MASS = rf"\d+(?:[.,]\d+)?\s*{_UNIT}?\b(?:\s*\d+(?:\.\d+)?\s*(?:oz|ounces?)\b)?"
_NAME = r"[^\W\d][\w' ()/-]*?"
_THING = re.compile(rf"^({_NAME})[\s:=-]*({_MASS})$|^({_MASS})\s+(?:of\s+)?({_NAME})$", re.I)
_BARS = re.compile(
    r"^(?:made\s+)?(\d{1,4})\s*(?:bars?|pcs|pieces)\b|^bars?\s*:?\s*(\d{1,4})$", re.I
)
_NUMERIC = re.compile(r"^(\d{1,2})[/.-](\d{1,2})[/.-](\d{2}|\d{4})$")
_DATED = re.compile(r"\d{4}-\d\d?-\d\d?|\d{1,2}[/.-]\d{1,2}[/.-]\d{2,4}")
_MONTHS = re.compile(r"\b(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\b", re.I)
_FATTY = re.compile(r"\b(oil|fat|butter|tallow|lard|grease)\b", re.I)
_EARLIEST = 1990
_LACKING = datetime(2000, 1, 1)  # noqa: DTZ001 (what a day does not say; no clock)
_MONTHS_IN_YEAR = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class NotedMass:
    """One thing of a page: its key (the words that stand there when unknown) and its mass, g."""

    ingredient: str
    mass_g: Decimal | None
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OldPage:
    """One batch of the notes, as it is understood. It is history: nothing is poured or sold by it.

    Attributes:
        where, said: where it stands, and all that stands there.
        masses: fats, lye (`naoh`), `water` and the rest, in the order of the page.
        guessed: what was taken for granted; missing: what is not there or not understood.
        lye: what the lye figure can have meant, the most usual first, in words.
        question: the one question that settles most; empty when nothing is open.
        known: it was taken in before.
    """

    where: str
    said: str
    poured_on: date | None = None
    variety: str = ""
    bars: int | None = None
    masses: tuple[NotedMass, ...] = ()
    note: str = ""
    guessed: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    lye: tuple[str, ...] = ()
    question: str = ""
    known: bool = False

    @property
    def sha256(self) -> str:
        """What tells this page from another: where it stands and what it says."""
        return hashlib.sha256(f"{self.where}|{self.said}".encode()).hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Names:
    """Which ingredients a word can mean: those of the shop's recipes before all others."""

    own: tuple[str, ...]
    varieties: Mapping[str, str]

    def key(self, said: str) -> tuple[str, str]:
        """The key, empty when unknown, and what was guessed about it."""
        exact = canonical(said)
        if exact == "water" or exact in known_keys():
            return exact, ""
        for known in (self.own, tuple(all_fats())):
            meant = list(dict.fromkeys(keys_meant(said, known, canonical)))
            if len(meant) == 1:
                return meant[0], f"{said} is {meant[0]}"
        return "", ""


def names_of(desk: Desk) -> _Names:
    """The names of the shop's own recipes and what is in them."""
    with desk.ledger.read() as reader:
        recipes = [parsed_recipe(r.text, f"recipe {r.code}") for r in reader.recipes()]
    own = [f.fat for r in recipes for f in r.fats]
    own += [a.ingredient for r in recipes for a in r.additions]
    varieties = {name.lower(): r.code for r in recipes for name in (r.name, r.code)}
    return _Names(own=tuple(dict.fromkeys(own)), varieties=varieties)


def offered_map(desk: Desk, pages: Sequence[Page], given: NotesMap) -> NotesMap:
    """The mapping with every heading of the notes in it, as it will be read."""
    names = names_of(desk)
    columns = dict(given.columns)
    for page in pages:
        for head, _ in page.cells:
            if head and head not in columns:
                columns[head] = _field_of(head) or names.key(_without_unit(head))[0]
    order = given.date_order or _date_order(pages, columns) or _usual_order(desk)
    return replace(given, columns=columns, date_order=order, unit=given.unit or "g")


def _field_of(head: str) -> str:
    plain = " ".join(_without_unit(head).lower().replace("_", " ").split()).rstrip(".:")
    table: Mapping[str, list[str]] = read_toml("names/headings.toml")["headings"]
    return next((key for key, words in table.items() if plain in words), "")


def _without_unit(head: str) -> str:
    return re.sub(rf"[\s,]*[(\[]?\b{_UNIT}\b[)\]]?\s*$", "", head, flags=re.I).strip() or head


def _unit_of(head: str) -> str:
    found = re.search(rf"\b({_UNIT})\b[)\]]?\s*$", head, re.I)
    return found[1] if found else ""


def _date_order(pages: Iterable[Page], columns: Mapping[str, str]) -> str:
    """Mdy or dmy where a day of the column says so by itself; empty where none does."""
    for page in pages:
        for head, text in page.cells:
            numeric = _NUMERIC.match(text) if not head or columns.get(head) == "poured_on" else None
            if numeric and int(numeric[1]) > _MONTHS_IN_YEAR:
                return "dmy"
            if numeric and int(numeric[2]) > _MONTHS_IN_YEAR:
                return "mdy"
    return ""


def _usual_order(desk: Desk) -> str:
    return "mdy" if desk.shop.paper == "letter" else "dmy"  # letter paper is used where mdy is


def understand(desk: Desk, pages: Sequence[Page], mapping: NotesMap) -> list[OldPage]:
    """Every page as it is understood, those of one batch put together.

    Raises:
        BadInput: the mapping names something that no column can mean.
    """
    names = names_of(desk)
    for head, key in mapping.columns.items():
        if key and key not in FIELDS and not names.key(key)[0]:
            fields = ", ".join(FIELDS)
            raise BadInput(
                f"column '{head}' cannot mean '{key}'", hint=f"an ingredient, or {fields}"
            )
    found = [_understood(page, mapping, names) for page in _together(pages, mapping)]
    with desk.ledger.read() as reader:
        known = reader.old_pages_known()
    return [replace(page, known=page.sha256 in known) for page in found]


def _together(pages: Sequence[Page], mapping: NotesMap) -> list[Page]:
    """Rows of one ingredient each as one page a batch: those of one day and variety in a row."""
    if "ingredient" not in mapping.columns.values():
        return list(pages)
    joined: list[tuple[tuple[str, ...], Page]] = []
    for page in pages:
        meant = {mapping.columns.get(head, ""): text for head, text in page.cells}
        key = tuple(meant.get(name, "") for name in ("poured_on", "variety"))
        thing = f"{meant.get('ingredient', '')} {meant.get('mass', '')}".strip()
        rest = tuple(
            c for c in page.cells if mapping.columns.get(c[0]) not in {"ingredient", "mass"}
        )
        if joined and (joined[-1][0] == key or not any(key)):
            last = joined[-1][1]
            joined[-1] = (joined[-1][0], replace(last, cells=(*last.cells, ("", thing))))
        else:
            joined.append((key, replace(page, cells=(*rest, ("", thing)))))
    return [page for _, page in joined]


@dataclass(slots=True)
class _Draft:
    """A page while it is read."""

    poured_on: date | None = None
    variety: str = ""
    bars: int | None = None
    masses: list[NotedMass] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    guessed: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    unnamed_g: list[float] = field(default_factory=list)
    bare: dict[str, list[str]] = field(default_factory=dict)

    @property
    def begun(self) -> bool:
        """Something was read beside the day."""
        return bool(self.masses or self.notes or self.bars is not None)


def _understood(page: Page, mapping: NotesMap, names: _Names) -> OldPage:
    draft = _Draft()
    for head, text in page.cells:
        if head:
            _headed(draft, head, text, mapping, names)
        else:
            _typed(draft, text, mapping, names)
    if draft.poured_on is None:
        draft.missing.append("the day")
    if not draft.variety:
        draft.missing.append("the variety")
    elif draft.variety.lower() not in names.varieties:
        draft.guessed.append(f"'{draft.variety}' is no recipe here: kept as it stands")
    draft.guessed += [f"in {unit}: {', '.join(things)}" for unit, things in draft.bare.items()]
    lye, ask = _lye(draft)
    return OldPage(
        where=page.where,
        said=page.said,
        poured_on=draft.poured_on,
        variety=draft.variety,
        bars=draft.bars,
        masses=tuple(draft.masses),
        note="; ".join(draft.notes),
        guessed=tuple(dict.fromkeys(draft.guessed)),
        missing=tuple(dict.fromkeys(draft.missing)),
        lye=lye,
        question=ask,
    )


def _headed(draft: _Draft, head: str, text: str, mapping: NotesMap, names: _Names) -> None:
    """A cell under a heading."""
    key = mapping.columns.get(head, "")
    if key == "poured_on":
        _day(draft, text, mapping)
    elif key == "variety":
        draft.variety = text
    elif key == "bars":
        digits = re.match(r"\d{1,4}", text)
        draft.bars = int(digits[0]) if digits else None
        if digits is None:
            draft.missing.append(f"bars: '{text}' is no count")
    elif key == "note":
        draft.notes.append(text)
    elif key in {"lye", "water"} or key:
        _thing(draft, "naoh" if key == "lye" else key, text, mapping, names, unit=_unit_of(head))
    else:
        draft.notes.append(f"{head}: {text}")


def _typed(draft: _Draft, text: str, mapping: NotesMap, names: _Names) -> None:
    """A piece of a typed line: a day, a count of bars, a thing with its mass, or words."""
    before, colon, after = text.partition(":")
    bars, thing = _BARS.match(text), _THING.match(text)
    if bars:
        draft.bars = int(bars[1] or bars[2])
    elif thing and not _looks_dated(text):
        name, mass = (thing[1], thing[2]) if thing[1] else (thing[4], thing[3])
        _thing(draft, name.strip(), mass, mapping, names)
    elif colon and not thing:
        _typed(draft, before.strip(), mapping, names)
        if after.strip():
            _typed(draft, after.strip(), mapping, names)
    elif _looks_dated(text) and draft.poured_on is None:
        _day(draft, text, mapping)
    elif names.key(text.rstrip(" ?"))[0]:
        _thing(draft, text.rstrip(" ?"), "", mapping, names)
    elif not draft.variety and (text.lower() in names.varieties or not draft.begun):
        draft.variety = text
    else:
        draft.notes.append(text)


def _looks_dated(text: str) -> bool:
    return bool(_DATED.search(text) or (_MONTHS.search(text) and re.search(r"\d", text)))


def _day(draft: _Draft, text: str, mapping: NotesMap) -> None:
    numeric = _NUMERIC.match(text.strip())
    try:
        found = parse_date(text, dayfirst=mapping.date_order == "dmy", default=_LACKING).date()
    except (ParserError, ValueError, OverflowError, TypeError, AttributeError):
        draft.missing.append(f"the day: '{text}' is not understood")
        return
    if not re.search(r"\d{4}", text) and not numeric:
        draft.missing.append(f"the year of '{text}'")
        return
    if found.year < _EARLIEST:
        draft.missing.append(f"the day: '{text}' is not understood")
        return
    if numeric and int(numeric[1]) <= _MONTHS_IN_YEAR and int(numeric[2]) <= _MONTHS_IN_YEAR:
        draft.guessed.append(f"{text} is {found}")
    draft.poured_on = found


def _thing(
    draft: _Draft, name: str, text: str, mapping: NotesMap, names: _Names, unit: str = ""
) -> None:
    """An ingredient and its mass, or what lacks of it."""
    key, guess = names.key(name)
    scents = read_toml("names/headings.toml")["scents"]["names"]
    if not key and name.lower() not in scents:
        kind = "fat" if _FATTY.search(name) else "thing"
        draft.missing.append(f"which {kind} '{name}' is")
    if guess:
        draft.guessed.append(guess)
    mass = _mass(draft, key or name, text, mapping, unit)
    if not key and mass is not None and _FATTY.search(name):
        draft.unnamed_g.append(float(mass))
    draft.masses.append(NotedMass(ingredient=key or name, mass_g=mass, said=text))


def _mass(draft: _Draft, name: str, text: str, mapping: NotesMap, unit: str) -> Decimal | None:
    bare = text.replace(",", ".").strip() if re.fullmatch(r"\s*\d+,\d{1,2}\s*\D*", text) else text
    if not bare.strip() or not re.search(r"\d", bare):
        draft.missing.append(f"the mass of {name}")
        return None
    if re.fullmatch(r"\s*\d+(\.\d+)?\s*", bare):
        usual = unit or mapping.unit or "g"
        if not unit:
            draft.bare.setdefault(usual, []).append(name)
        bare = f"{bare.strip()} {usual}"
    try:
        return parse_mass_g(bare, name)
    except BadInput:
        draft.missing.append(f"the mass of {name}: '{text}' is not understood")
        return None


def _lye(draft: _Draft) -> tuple[tuple[str, ...], str]:
    """What the lye figure can have meant, and the one question that settles most."""
    fats = [
        (m.ingredient, None if m.mass_g is None else float(m.mass_g))
        for m in draft.masses
        if m.ingredient in all_fats()
    ]
    sums = {
        key: sum((m.mass_g or Decimal(0) for m in draft.masses if m.ingredient == key), Decimal(0))
        for key in ("naoh", "water")
    }
    noted = Noted(
        fats=tuple(fats),
        lye_g=float(sums["naoh"]) or None,
        water_g=float(sums["water"]) or None,
    )
    if draft.unnamed_g and not noted.missing:
        could = possible_fats(noted, draft.unnamed_g[0])
        if could and len(could) < len(all_fats()):
            draft.guessed.append("the fat without a name can be " + ", ".join(could[:6]))
        return (), f"Which fat were the {draft.unnamed_g[0]:g} g?"
    found = readings(noted)
    return tuple(_in_words(one) for one in found), question(noted, found)


def _in_words(one: Reading) -> str:
    low, high = one.naoh_g
    said = f"lye {one.meaning}"
    if one.meaning != "dry":
        exact = mass_words(low, 0) if low == high else f"{low:.0f} to {mass_words(high, 0)}"
        said += f" ({exact} dry)"
    if one.superfat_percent is not None:
        return f"{said}: superfat {one.superfat_percent[0]:.0f} to {one.superfat_percent[1]:.0f} %"
    if one.missing_g is None:
        return said
    of = "of a fat not named" if one.missing == (OTHER,) else f"of {', '.join(one.missing)}"
    return f"{said}: {one.missing_g[0]:.0f} to {mass_words(one.missing_g[1], 0)} {of}"


@dataclass(frozen=True, slots=True, kw_only=True)
class OldPageRow:
    """A page on record, as it is listed."""

    entry: int
    source: str
    where: str
    poured_on: date | None
    variety: str
    bars: int | None
    said: str
    open: str


def old_pages(desk: Desk) -> list[OldPageRow]:
    """The pages that were taken in: history, by which nothing was poured here."""
    with desk.reading() as (_, reader):
        pages = reader.old_pages()
    return [
        OldPageRow(
            entry=page.entry_id,
            source=page.facts.source,
            where=page.facts.stands_at,
            poured_on=page.facts.poured_on,
            variety=page.facts.variety,
            bars=page.facts.bars,
            said=page.facts.said,
            open=str(json.loads(page.facts.understood_json).get("question", "")),
        )
        for page in pages
    ]
