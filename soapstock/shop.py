"""The maker's shop: the folder with shop.toml and the ledger, and how it is found.

shop.toml is the maker's own file, read strictly: an unknown key is refused with the nearest known
one, so that a misspelt setting never passes for its default.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

from soapstock.codes.gs1 import validate_gtin
from soapstock.errors import BadInput, Mend, NotFound
from soapstock.exchange.text_file import MEGABYTE, read_text_file
from soapstock.labelling.law import markets
from soapstock.labelling.words import languages
from soapstock.money.costs import Costs
from soapstock.money.journal import chart
from soapstock.money.settings import costs_text, read_costs
from soapstock.tables.fields import Fields, Source
from soapstock.units import DAY_ORDERS, parse_mass_g

SHOP_FILE = "shop.toml"
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_POTS = ("smallest_pot", "largest_pot", "pots_a_day", "cost_percent")
MOODS = ("quiet", "tinted", "ringed")
KEEPING_RULES = ("earliest-ingredient", "policy-only")


@dataclass(frozen=True, slots=True, kw_only=True)
class Selling:
    """What one market asks to know besides: who answers for the bars there, and their origin.

    Attributes:
        responsible: name and address, line by line; empty when not given.
        origin: country the bars were made in, as the label says it.
    """

    responsible: tuple[str, ...] = ()
    origin: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldKind:
    """Moulds of one kind: bars each gives, how many there are, days until one is free again.

    `recipes` are the codes poured into them; empty for all.
    """

    bars: int
    count: int = 1
    days: int = 2
    recipes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """What limits a plan of pours.

    Attributes:
        working_days: days of the week one pours on, Monday 0.
        rack_places: bars that the racks hold; None takes the room of the places of kind rack.
        smallest_pot_g, largest_pot_g: batter of one pour, g; None where nobody said.
        pots_a_day: pours in one day.
        cost_percent: what a bar costs to make, in percent of what it sells for.
    """

    working_days: frozenset[int] = frozenset(range(7))
    rack_places: int | None = None
    smallest_pot_g: Decimal = Decimal(0)
    largest_pot_g: Decimal | None = None
    pots_a_day: int = 1
    cost_percent: float = 25.0
    moulds: dict[str, MouldKind] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """What the public pages tell beside what is on the label.

    Attributes:
        languages: of the pages; empty takes those of the market's labels.
        farm_fat: name the fats that the farm rendered itself.
        photo: show the last photo of a lot; mind who and what is on it.
        stock: also write how many bars of each variety are free, for a web shop.
        use: how to keep and use a bar, in the maker's own words; empty takes ours.
    """

    languages: tuple[str, ...] = ()
    farm_fat: bool = False
    photo: bool = False
    stock: bool = False
    use: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """A shop's settings.

    Attributes:
        folder: where shop.toml stands.
        scale_step_g: the smallest step the batch scale shows, g.
        default_cure_days: days a recipe cures when it does not say.
        dry_week_loss_percent: the dry gate opens when the coming week's expected loss is under it.
        drying_faces: 6 for bars on an open rack or turned daily, 5 for bars lying on a board.
        units: `g` for grams and °C alone, `lb` for pounds, ounces and °F beside them.
        days: how days may be typed besides 2026-11-25: `mdy` as 11/25/26, `dmy` as 25/11/26.
        keeping_rule: `earliest-ingredient` caps a batch's best-before by its ingredient lots;
            `policy-only` does not, and then keeping_reason says why.
        printer_offset_mm: how far the label printer must shift everything right and down.
        gtins: GTIN by recipe code, as text.
        mood: how labels look: quiet, tinted or ringed.
        mark: file of the maker's own drawing (SVG) in the shop's labels folder, or empty.
        markets: what is set for one market alone, by its key.
        get_ready: what the maker wants at hand before a pour, for the batch sheet.
        accounts: the accountant's own number and name of some accounts of the journal, by key.
    """

    folder: Path
    maker: str
    address: tuple[str, ...] = ()
    get_ready: tuple[str, ...] = ()
    contact: str = ""
    market: str = "us-soap"
    web: str = ""
    gtins: dict[str, str] = field(default_factory=dict)
    markets: dict[str, Selling] = field(default_factory=dict)
    scale_step_g: Decimal = Decimal(1)
    default_cure_days: int = 28
    dry_week_loss_percent: float = 1.0
    best_before_months: int = 12
    drying_faces: int = 6
    keeping_rule: str = "earliest-ingredient"
    units: str = "g"
    days: str = "iso"
    keeping_reason: str = ""
    currency: str = "USD"
    face: str = "panel"
    sheet: str = "letter-2x3"
    mood: str = "quiet"
    mark: str = ""
    printer_offset_mm: tuple[float, float] = (0.0, 0.0)
    paper: str = "letter"
    database: str = "ledger.db"
    by: str = ""
    workshop: Workshop = Workshop()
    costs: Costs = field(default_factory=Costs)
    pages: Pages = Pages()
    accounts: dict[str, str] = field(default_factory=dict)

    @property
    def database_url(self) -> str:
        """SQLAlchemy URL of the ledger; a bare file name means SQLite inside the shop's folder."""
        if "://" in self.database:
            return self.database
        if set("@:=%") & set(self.database):  # a mistyped URL may hold a password: not repeated
            raise BadInput(
                f"{self.folder / SHOP_FILE}: database is neither a file's name nor a URL",
                hint="write a name such as ledger.db, or postgresql://USER@HOST/NAME",
            )
        path = (self.folder / self.database).resolve()
        if not path.is_relative_to(self.folder.resolve()):
            raise BadInput(
                f"{self.folder / SHOP_FILE}: database '{self.database}' lies outside the shop",
                hint="give a file name inside the shop's folder, or a database URL",
            )
        return f"sqlite:///{path}"

    def selling_in(self, market: str) -> Selling:
        """What is set for that market; the maker answers for the bars where it says so."""
        there = self.markets.get(market, Selling())
        if there.responsible == ("maker",):
            return Selling(responsible=(self.maker, *self.address), origin=there.origin)
        return there

    def gtin_for(self, recipe_code: str) -> str | None:
        """The recipe's GTIN, or None when the shop gave it none."""
        return self.gtins.get(recipe_code)


_LINES = (
    "maker",
    "contact",
    "currency",
    "face",
    "sheet",
    "database",
    "by",
    "keeping_reason",
    "web",
    "mark",
)
_WHOLE = {"default_cure_days": (1, 730), "best_before_months": (1, 120), "drying_faces": (5, 6)}
_CHOICES = {
    "keeping_rule": KEEPING_RULES,
    "paper": ("a4", "letter"),
    "mood": MOODS,
    "units": ("g", "lb"),
    "days": tuple(DAY_ORDERS),
}
_OTHERS = (
    "market",
    "address",
    "get_ready",
    "scale_step",
    "dry_week_loss_percent",
    "printer_offset",
)
_TABLES = ("gtins", "markets", "workshop", "moulds", "costs", "pages", "accounts")
_KNOWN = (*_LINES, *_WHOLE, *_CHOICES, *_OTHERS, *_TABLES)
_WEB = re.compile(r"(https?://)?[A-Za-z0-9.-]+(/\S*)?")
_MOST_OFFSET_MM = 20  # more is a slip of unit
_LEAST_STEP_G, _MOST_STEP_G = Decimal("0.001"), 100


def load_shop(folder: Path) -> Shop:
    """Read a shop's settings, strictly.

    Raises:
        NotFound: the folder holds no shop.toml.
        BadInput: a setting is unknown or has a wrong value; says file, line and key.
    """
    path = folder / SHOP_FILE
    if not path.is_file():
        raise NotFound(f"no shop in {folder}", mend=Mend("start_shop", folder=folder))
    text = read_text_file(path, "shop file", most_bytes=MEGABYTE)
    source = Source(text=text, where=str(path), top_keys=_KNOWN)
    top = Fields(source, "", source.load(), _KNOWN)
    top.text("maker")  # it has no default
    values: dict[str, Any] = {key: _line(top, key) for key in _LINES if top.has(key)}
    values |= {key: top.whole(key, *_WHOLE[key]) for key in _WHOLE if top.has(key)}
    values |= {key: top.choice(key, _CHOICES[key]) for key in _CHOICES if top.has(key)}
    if top.has("market"):
        values["market"] = top.choice("market", markets())
    if top.has("get_ready"):
        values["get_ready"] = top.lines("get_ready", 24)
    if top.has("address"):
        values["address"] = top.texts("address")
    if top.has("scale_step"):
        values["scale_step_g"] = _step_g(top)
    if top.has("dry_week_loss_percent"):
        values["dry_week_loss_percent"] = top.number("dry_week_loss_percent", 0.01, 10)
    if top.has("printer_offset"):
        most = _MOST_OFFSET_MM
        values["printer_offset_mm"] = top.pair("printer_offset", -most, most)
    return Shop(
        folder=folder,
        gtins=_gtins(top),
        markets=_selling(top),
        workshop=_workshop(top),
        costs=read_costs(top),
        pages=_pages(top),
        accounts=_accounts(top),
        **values,
    )


def _line(table: Fields, key: str) -> str:
    """One line of text, as it was written."""
    text = table.as_written(key)
    if any(ord(c) < ord(" ") for c in text):
        raise table.fail(key, "is not one line of text")
    if key == "web" and text and not _WEB.fullmatch(text):
        raise table.fail(key, f"'{text}' is no web address", "such as https://soap.example")
    return text


def _step_g(top: Fields) -> Decimal:
    step = top.measure("scale_step", parse_mass_g)
    if not _LEAST_STEP_G <= step <= _MOST_STEP_G:
        raise top.fail("scale_step", "is not from 1 mg to 100 g")
    return step


def _gtins(top: Fields) -> dict[str, str]:
    try:
        return {code: validate_gtin(gtin) for code, gtin in top.text_map("gtins").items()}
    except BadInput as err:
        raise top.fail("gtins", err.message, err.hint) from err


def _selling(top: Fields) -> dict[str, Selling]:
    below = top.table("markets", markets())
    found = {}
    for key in below.data:
        row = below.table(key, ("responsible", "origin"))
        by_maker = row.data.get("responsible") == "maker"
        who = ("maker",) if by_maker else row.texts("responsible")
        origin = row.text("origin", "")
        if not all(line.isprintable() for line in (*who, origin)):
            raise row.fail("", "is not plain lines of text")
        found[key] = Selling(responsible=who, origin=origin)
    return found


def _accounts(top: Fields) -> dict[str, str]:
    table = top.table("accounts", [one.key for one in chart({})])
    return {key: table.printed(key) for key in table.data}


def _accounts_text(accounts: Mapping[str, str]) -> str:
    """The table [accounts], or one in remarks that shows how."""
    lines = ["[accounts]            # the journal's accounts as your accountant calls them"]
    lines += [f"{key} = {_quoted(name)}" for key, name in accounts.items()]
    if accounts:
        return "\n".join(lines)
    return f'# {lines[0]}\n# sales = "{next(a.name for a in chart({}) if a.key == "sales")}"'


def _pages(top: Fields) -> Pages:
    table = top.table("pages", ("languages", "farm_fat", "photo", "stock", "use"))
    values: dict[str, Any] = {key: table.flag(key) for key in ("farm_fat", "photo", "stock")}
    values |= {key: table.texts(key) for key in ("languages", "use")}
    known = [one for one in languages() if "-" not in one]
    for one in values["languages"]:
        if one not in known:
            raise table.fail("languages", f"'{one}' is unknown", f"one of {', '.join(known)}")
    if not all(line.isprintable() for line in values["use"]):
        raise table.fail("use", "is not plain lines of text")
    return Pages(**values)


def _pages_text(pages: Pages) -> str:
    """The table [pages]; in remarks when nothing is set."""
    lines = [
        "[pages]               # the public pages behind the codes",
        f"languages = [{', '.join(map(_quoted, pages.languages))}]",
        f"farm_fat = {str(pages.farm_fat).lower()}      # name the fats you rendered yourself",
        f"photo = {str(pages.photo).lower()}         # show a lot's last photo",
        f"stock = {str(pages.stock).lower()}         # also write stock.json for a web shop",
        f"use = [{', '.join(map(_quoted, pages.use))}]              # how to keep and use a bar",
    ]
    return "\n".join(lines if pages != Pages() else [f"# {line}" for line in lines])


def _workshop(top: Fields) -> Workshop:
    table = top.table("workshop", ("working_days", "rack_places", *_POTS))
    values: dict[str, Any] = {}
    if table.has("working_days"):
        days = table.texts("working_days")
        wrong = [day for day in days if day not in WEEKDAYS]
        if wrong or not days:
            raise table.fail("working_days", "is not a list of weekdays", 'such as ["wed", "sat"]')
        values["working_days"] = frozenset(WEEKDAYS.index(day) for day in days)
    if table.has("rack_places"):
        values["rack_places"] = table.whole("rack_places", 1, 1_000_000)
    for key in ("smallest_pot", "largest_pot"):
        if table.has(key):
            values[f"{key}_g"] = table.measure(key, parse_mass_g)
    if table.has("pots_a_day"):
        values["pots_a_day"] = table.whole("pots_a_day", 1, 20)
    if table.has("cost_percent"):
        values["cost_percent"] = table.number("cost_percent", 0, 1000)
    moulds = top.tables("moulds", ("bars", "count", "days", "recipes"))
    return Workshop(moulds={name: _mould(row) for name, row in moulds.items()}, **values)


def _mould(row: Fields) -> MouldKind:
    return MouldKind(
        bars=row.whole("bars", 1, 10_000),
        count=row.whole("count", 1, 50) if row.has("count") else 1,
        days=row.whole("days", 1, 30) if row.has("days") else 2,
        recipes=row.texts("recipes") if row.has("recipes") else (),
    )


def _workshop_text(workshop: Workshop) -> str:
    """The tables [workshop] and [moulds.*]; what is not set is a comment."""
    days = ", ".join(_quoted(WEEKDAYS[day]) for day in sorted(workshop.working_days))
    smallest = workshop.smallest_pot_g
    largest, places = workshop.largest_pot_g, workshop.rack_places
    lines = [
        "[workshop]           # what limits a plan of pours",
        f"working_days = [{days}]",
        f"pots_a_day = {workshop.pots_a_day}",
        f"cost_percent = {workshop.cost_percent:g}    # cost of a bar, in % of what it sells for",
        f'smallest_pot = "{smallest} g"' if smallest else '# smallest_pot = "1 kg"  # batter',
        '# largest_pot = "4 kg"' if largest is None else f'largest_pot = "{largest} g"',
        "# rack_places = 200    # bars; else the room of the racks"
        if places is None
        else f"rack_places = {places}",
    ]
    for name, mould in workshop.moulds.items():
        codes = ", ".join(_quoted(code) for code in mould.recipes)
        lines += ["", f"[moulds.{_quoted(name)}]", f"bars = {mould.bars}", f"count = {mould.count}"]
        lines += [f"days = {mould.days}", f"recipes = [{codes}]"]
    if not workshop.moulds:
        lines += ["", "# [moulds.loaf]      # a table a kind of mould", "# bars = 20"]
        lines += ["# count = 2", "# days = 2            # until it is free again"]
    if workshop == Workshop():  # so that a line added at the end is still one of the shop's own
        lines = [line if line.startswith("#") or not line else f"# {line}" for line in lines]
    return "\n".join(lines)


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _selling_text(by_market: Mapping[str, Selling]) -> str:
    """The tables of single markets, or one in remarks that shows how."""
    if not by_market:
        return (
            "# [markets.eu]         # who answers for the bars there: name, street, town, country\n"
            '# responsible = ["...", "...", "..."]  # or "maker" if you are at home there\n'
            '# origin = "USA"       # where the bars were made, if they are brought in'
        )
    tables = []
    for key, one in by_market.items():
        lines = ", ".join(_quoted(line) for line in one.responsible)
        who = '"maker"' if one.responsible == ("maker",) else f"[{lines}]"
        tables.append(f"[markets.{key}]\nresponsible = {who}\norigin = {_quoted(one.origin)}")
    return "\n\n".join(tables)


def shop_text(shop: Shop) -> str:
    """shop.toml for a new shop, with every setting explained in a comment."""
    quoted = _quoted
    address = ", ".join(quoted(line) for line in shop.address)
    ready = ", ".join(quoted(line) for line in shop.get_ready)
    right, down = shop.printer_offset_mm
    return f"""\
# A soapstock shop. Text after # is a comment. Lines you delete fall back to their default.
maker = {quoted(shop.maker)}              # name on the label
address = [{address}]            # lines on the label: street, then city, state and post code
contact = {quoted(shop.contact)}            # telephone, e-mail or web page for customers
market = {quoted(shop.market)}      # {", ".join(markets())}
web = {quoted(shop.web)}                # web address for the QR code, if any
scale_step = "{shop.scale_step_g} g"     # smallest step of the scale that weighs batches
default_cure_days = {shop.default_cure_days}      # when a recipe does not say
dry_week_loss_percent = {shop.dry_week_loss_percent}  # dry when the next week's loss is less
best_before_months = {shop.best_before_months}     # when a recipe does not say
drying_faces = {shop.drying_faces}           # 6 on an open rack or turned daily, 5 lying on a board
keeping_rule = {quoted(shop.keeping_rule)}  # or "policy-only", then say why in keeping_reason
keeping_reason = {quoted(shop.keeping_reason)}
currency = {quoted(shop.currency)}
face = {quoted(shop.face)}            # label face used unless another is asked for
sheet = {quoted(shop.sheet)}      # label sheet used unless another is asked for
mood = {quoted(shop.mood)}           # how labels look: {", ".join(MOODS)}
mark = {quoted(shop.mark)}                # your own drawing, an SVG file in the folder labels/
printer_offset = [{right:g}, {down:g}]   # mm right, mm down, as read off a calibration page
paper = {quoted(shop.paper)}          # a4 or letter, for batch sheets and rack cards
units = {quoted(shop.units)}              # lb: masses also in pounds and ounces, and °F beside °C
days = {quoted(shop.days)}             # iso: you type 2026-11-25; mdy: 11/25/26 too; dmy: 25/11/26
get_ready = [{ready}]          # what you want at hand before a pour, for the batch sheet
by = {quoted(shop.by)}                 # who enters facts, unless another is named
database = {quoted(shop.database)}   # a file beside this one, or a PostgreSQL URL

{_selling_text(shop.markets)}

{_workshop_text(shop.workshop)}

{costs_text(shop.costs)}

{_pages_text(shop.pages)}

{_accounts_text(shop.accounts)}

# [gtins]              # if you have bought GTINs, one line a recipe code
# DRF = "..."
"""


def find_shop_folder(option: Path | None, environment: str | None, here: Path) -> Path:
    """The shop's folder: the option, SOAPSTOCK_SHOP, the current folder, or the user's data folder.

    Raises:
        NotFound: none of them holds a shop.toml.
    """
    if option is not None:
        return option
    if environment:
        return Path(environment)
    if (here / SHOP_FILE).is_file():
        return here
    from platformdirs import user_data_dir

    home = Path(user_data_dir("soapstock", appauthor=False))
    if (home / SHOP_FILE).is_file():
        return home
    raise NotFound("no shop here", mend=Mend("find_shop"))
