"""The maker's shop: the folder with shop.toml and the ledger, and how it is found.

shop.toml is the maker's own file, read strictly: an unknown key is refused with the nearest known
one, so that a misspelt setting never passes for its default.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

from soapstock.errors import BadInput, NotFound
from soapstock.labelling.law import markets
from soapstock.tables.toml_text import toml_of
from soapstock.units import parse_mass_g

SHOP_FILE = "shop.toml"
MAX_FILE_BYTES = 1_000_000
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
class Shop:
    """A shop's settings.

    Attributes:
        folder: where shop.toml stands.
        scale_step_g: the smallest step the batch scale shows, g.
        default_cure_days: days a recipe cures when it does not say.
        dry_week_loss_percent: the dry gate opens when the coming week's expected loss is under it.
        drying_faces: 6 for bars on an open rack or turned daily, 5 for bars lying on a board.
        keeping_rule: `earliest-ingredient` caps a batch's best-before by its ingredient lots;
            `policy-only` does not, and then keeping_reason says why.
        printer_offset_mm: how far the label printer must shift everything right and down.
        gtins: GTIN by recipe code, as text.
        markets: what is set for one market alone, by its key.
    """

    folder: Path
    maker: str
    address: tuple[str, ...] = ()
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
    keeping_reason: str = ""
    currency: str = "USD"
    face: str = "panel"
    sheet: str = "letter-2x3"
    printer_offset_mm: tuple[float, float] = (0.0, 0.0)
    paper: str = "letter"
    database: str = "ledger.db"
    by: str = ""

    @property
    def database_url(self) -> str:
        """SQLAlchemy URL of the ledger; a bare file name means SQLite inside the shop's folder."""
        if "://" in self.database:
            return self.database
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


_TEXT = {
    "maker", "contact", "market", "web", "keeping_rule", "keeping_reason", "currency", "face",
    "sheet", "paper", "database", "by",
}  # fmt: skip
_WHOLE = {"default_cure_days": (1, 730), "best_before_months": (1, 120), "drying_faces": (5, 6)}
_MOST_OFFSET_MM = 20  # more is a slip of unit
_KNOWN = (
    _TEXT
    | set(_WHOLE)
    | {"address", "gtins", "markets", "scale_step", "dry_week_loss_percent", "printer_offset"}
)


def read_toml_file(path: Path, what: str) -> tuple[str, dict[str, Any]]:
    """The text and the parsed content of a maker's TOML file.

    Raises:
        NotFound: no such file.
        BadInput: unreadable, over one megabyte, not UTF-8, or not TOML (says the line).
    """
    from soapstock.exchange.text_file import read_text_file

    text = read_text_file(path, what, most_bytes=MAX_FILE_BYTES)
    try:
        return text, toml_of(text, Decimal)
    except ValueError as err:
        raise BadInput(f"{path}: {err}", hint="mend the file at that line") from err


def load_shop(folder: Path) -> Shop:
    """Read a shop's settings, strictly.

    Raises:
        NotFound: the folder holds no shop.toml.
        BadInput: a setting is unknown or has a wrong value; says file and key.
    """
    path = folder / SHOP_FILE
    if not path.is_file():
        raise NotFound(f"no shop in {folder}", hint=f"begin one with: soapstock start {folder}")
    _, raw = read_toml_file(path, "shop file")
    for key in raw:
        if key not in _KNOWN:
            near = difflib.get_close_matches(key, sorted(_KNOWN), n=1)
            hint = f"did you mean '{near[0]}'?" if near else f"known: {', '.join(sorted(_KNOWN))}"
            raise BadInput(f"{path}: unknown setting '{key}'", hint=hint)
    values: dict[str, Any] = {"folder": folder, "maker": ""}
    for key, value in raw.items():
        name, parsed = _setting(path, key, value)
        values[name] = parsed
    if not values["maker"].strip():
        raise BadInput(f"{path}: maker is missing", hint='write the line: maker = "your name"')
    return Shop(**values)


def _setting(path: Path, key: str, value: Any) -> tuple[str, Any]:
    def bad(expected: str) -> BadInput:
        return BadInput(f"{path}: {key} = {value!r} is wrong", hint=f"expected {expected}")

    if key in _TEXT:
        if not isinstance(value, str) or any(ord(c) < 32 for c in value):
            raise bad("one line of text in quotes")
        return key, _checked_text(key, value, bad)
    if key in _WHOLE:
        low, high = _WHOLE[key]
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise bad(f"a whole number from {low} to {high}")
        return key, value
    if key == "scale_step":
        return "scale_step_g", _step(value, bad, f"{path}: scale_step")
    if key in _OWN_READER:
        name, read = _OWN_READER[key]
        return name, read(value, bad)
    if not _is_number(value) or not 0 < value <= 10:
        raise bad("a percentage above 0 and up to 10")
    return key, float(value)


def _address(value: Any, bad: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(line, str) for line in value):
        raise bad('a list of lines, such as ["1 Saltmarsh Lane", "Town, ST 00000"]')
    return tuple(value)


def _is_number(value: Any) -> bool:
    """A number that can be compared: neither true nor false, nor TOML's nan."""
    whole = isinstance(value, int) and not isinstance(value, bool)
    return whole or (isinstance(value, Decimal) and value.is_finite())


def _offset_mm(value: Any, bad: Any) -> tuple[float, float]:
    """Millimetres right and down."""
    numbers = value if isinstance(value, list) else []
    within = [s for s in numbers if _is_number(s) and abs(s) <= _MOST_OFFSET_MM]
    if len(within) != 2 or len(numbers) != 2:
        raise bad("mm right and mm down, each from -20 to 20, such as [1.5, -0.5]")
    return float(within[0]), float(within[1])


def _step(value: Any, bad: Any, what: str) -> Decimal:
    step = parse_mass_g(str(value), what)
    if not Decimal("0.001") <= step <= 100:
        raise bad("a step from 1 mg to 100 g, such as '1 g'")
    return step


def _checked_text(key: str, value: str, bad: Any) -> str:
    allowed = {"market": markets(), "keeping_rule": KEEPING_RULES, "paper": ("a4", "letter")}
    if key in allowed and value not in allowed[key]:
        raise bad("one of: " + ", ".join(allowed[key]))
    if key == "web" and value and not re.fullmatch(r"(https?://)?[A-Za-z0-9.-]+(/\S*)?", value):
        raise bad("a web address such as https://soap.example")
    return value


def _gtins(value: Any, bad: Any) -> dict[str, str]:
    from soapstock.codes.gs1 import validate_gtin

    if not isinstance(value, dict) or not all(isinstance(v, str) for v in value.values()):
        raise bad('a table of recipe code to GTIN in quotes, such as DRF = "..."')
    return {str(code): validate_gtin(gtin) for code, gtin in value.items()}


def _selling(value: Any, bad: Any) -> dict[str, Selling]:
    expected = 'tables such as [markets.eu] with responsible = ["name", "street", "town"], origin'
    if not isinstance(value, dict):
        raise bad(expected)
    found = {}
    for key, row in value.items():
        if key not in markets():
            raise bad(f"tables named for a market: {', '.join(markets())}")
        if not isinstance(row, dict) or set(row) - {"responsible", "origin"}:
            raise bad(expected)
        lines, origin = row.get("responsible", []), row.get("origin", "")
        lines = ["maker"] if lines == "maker" else lines
        texts = [*lines, origin] if isinstance(lines, list) else [None]
        if not all(isinstance(one, str) and one.isprintable() for one in texts):
            raise bad(expected)
        found[key] = Selling(responsible=tuple(lines), origin=origin)
    return found


_OWN_READER = {
    "markets": ("markets", _selling),
    "address": ("address", _address),
    "gtins": ("gtins", _gtins),
    "printer_offset": ("printer_offset_mm", _offset_mm),
}


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
face = {quoted(shop.face)}            # label face used unless --face says otherwise
sheet = {quoted(shop.sheet)}      # label sheet used unless --sheet says otherwise
printer_offset = [{right:g}, {down:g}]   # mm right, mm down; see: soapstock design calibrate SHEET
paper = {quoted(shop.paper)}          # a4 or letter, for batch sheets and rack cards
by = {quoted(shop.by)}                 # who enters facts, unless --by says otherwise
database = {quoted(shop.database)}   # a file beside this one, or a PostgreSQL URL

{_selling_text(shop.markets)}

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
    raise NotFound(
        "no shop here", hint="begin one with: soapstock start DIR, or name one with --shop DIR"
    )
