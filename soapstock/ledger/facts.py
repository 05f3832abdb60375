"""What goes into the ledger and what comes out of it, as plain frozen records.

A fact is declared here once. A class with a TABLE names a table of the ledger, and the fields that
it adds are the table's columns: base/tables makes the table, the migrations' triggers guard it, the
hash chain covers it, and for a fact about a batch, a field of BatchFacts, read/batches reads it
and `BatchFacts.as_of` leaves out what came later. What a field's type says is all there is to say:
`Mg` and `Cents` are kept as 64-bit whole numbers, `Long` as text of any length, `X | None` may be
empty.

Masses are whole milligrams, bars are whole bars, money is whole cents; dates are local dates and
instants are UTC. Nothing here touches a database, so every room after this one may build these.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, ClassVar, Literal, Self, get_args, get_origin, get_type_hints

from soapstock.codes.lot import LotCode
from soapstock.cure.words import Decision, Method
from soapstock.ledger.places import KINDS, PlaceKind
from soapstock.money.book import SpentOn
from soapstock.recipes.weighing import Role
from soapstock.units import g_from_mg

Unit = Literal["mg", "bars"]
LotKind = Literal["ingredient", "batch"]
Outcome = Literal["shipped", "short", "cancelled"]
GivenFor = Literal["gift", "sample", "donation", "own use"]
PaperKind = Literal["invoice", "credit note"]

Mg = Annotated[int, "big"]
Cents = Annotated[int, "big"]
Long = Annotated[str, "long"]
Indexed = Annotated[str, "index"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotFact:
    """A fact about a lot; what its entry says of it comes first, its own columns after.

    Attributes:
        on: local date of the fact.
        by: who did it.
        note: free text.
        entry_id: the entry that holds it.
    """

    on: date
    by: str
    note: str = ""
    entry_id: int = 0


MOST_PHOTO_BYTES = 400_000
MOVED = "moved"  # kind of the entry that closes a ledger which is kept elsewhere now


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """When a fact happened, when it was entered, and by whom.

    Attributes:
        happened_on: local date of the fact.
        entered_at: instant of entry, aware; stored in UTC.
        by: who did it, never empty.
        note: free text; the reason, for an undo.
        client_key: name the sender gave this entry; sent twice, it counts once.
        client_said: SHA-256 of what the sender said, such as a command's words, to tell the same
            words sent twice from others under the same key.
    """

    happened_on: date
    entered_at: datetime
    by: str
    note: str = ""
    client_key: str | None = None
    client_said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class UseLine:
    """One thing that went into a pot.

    Attributes:
        ingredient: ingredient key, such as `beef-tallow`.
        role: what it was for.
        mass_mg: mass used, mg.
        bars: for rebatched soap only: how many bars of that lot went in.
        place: where it was taken from; None takes it wherever the lot lies.
    """

    TABLE: ClassVar = "use_line"

    ingredient: str
    role: Role
    mass_mg: Mg
    bars: int | None = None
    place: str | None = None

    @property
    def mass_g(self) -> Decimal:
        """Mass used, g."""
        return g_from_mg(self.mass_mg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Use(UseLine):
    """One thing that went into a pot: from a lot, or without one (well water).

    Attributes:
        lot_code: compact lot code, or None when it was taken from no lot.
    """

    lot_code: LotCode | None = None

    @property
    def lot_shown(self) -> str:
        """The lot's code as people read it; empty when it was taken from no lot."""
        return "" if self.lot_code is None else self.lot_code.shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """An ingredient lot as it came in, bought or rendered on the farm.

    Attributes:
        mass_mg: mass received, mg, above zero.
        supplier_lot: the supplier's own lot text.
        sv_low, sv_nominal, sv_high: saponification value of the lot's certificate, mg KOH/g;
            all three or none.
        animal: reference of the animal a rendered fat came from.
        raw_fat_mg: mass of raw fat before rendering, mg.
        acid_value: mg KOH that the free acids of 1 g take; moisture_percent: water in the fat.
        place: where it was put.
    """

    TABLE: ClassVar = "receipt"

    ingredient: str
    mass_mg: Mg
    supplier: str = ""
    supplier_lot: str = ""
    cost_cents: Cents | None = None
    currency: str = ""
    best_before: date | None = None
    sv_low: float | None = None
    sv_nominal: float | None = None
    sv_high: float | None = None
    certificate: str = ""
    animal: str = ""
    raw_fat_mg: Mg | None = None
    acid_value: float | None = None
    moisture_percent: float | None = None
    place: str = "store"

    @property
    def mass_g(self) -> Decimal:
        """Mass received, g."""
        return g_from_mg(self.mass_mg)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiveFacts(Receipt):
    """A receipt as it is entered.

    Attributes:
        lot_code: our compact lot code for it.
        made_from: lots this one was made from (a raw fat lot rendered here), for tracing.
    """

    lot_code: LotCode
    made_from: tuple[Use, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class IngredientLot(Receipt):
    """An ingredient lot on record.

    Attributes:
        left_mg: what is left of it in the shop, mg.
        hold_reason: why nothing may be taken of it; empty when it is not on hold.
    """

    lot_code: LotCode
    received_on: date
    left_mg: int
    entry_id: int = 0
    hold_reason: str = ""

    @property
    def left_g(self) -> Decimal:
        """Mass left in the shop, g."""
        return g_from_mg(self.left_mg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pour:
    """A pour and its conditions.

    Attributes:
        planned_json, judgement_json: the plan and the safety verdict as the maker saw them.
        batter_mg: mass of the batter in the mould, mg.
        lye_c, fats_c, peak_c, room_c: temperatures, degrees Celsius.
        room_rh: relative humidity of the room, percent.
        cooled_minutes: minutes from the lye's peak until it stood at lye_c.
        trace_minutes: minutes from lye and fats together to trace, or until it seized.
        seized: it went stiff in the pot before it could be poured as wished.
    """

    TABLE: ClassVar = "pour"

    planned_json: Long = ""
    judgement_json: Long = ""
    batter_mg: Mg
    lye_c: float | None = None
    fats_c: float | None = None
    peak_c: float | None = None
    room_c: float | None = None
    room_rh: float | None = None
    trace_minutes: float | None = None
    cooled_minutes: float | None = None
    seized: bool = False
    mould: str = ""

    @property
    def batter_g(self) -> Decimal:
        """Mass of the batter in the mould, g."""
        return g_from_mg(self.batter_mg)


@dataclass(frozen=True, slots=True, kw_only=True)
class PourFacts(Pour):
    """One pour as it was weighed.

    Attributes:
        uses: what was taken from lots (each with a lot code).
        unlotted: what was taken from no lot, such as water (each without a lot code).
    """

    lot_code: LotCode
    recipe_code: str
    recipe_version: int
    uses: tuple[Use, ...]
    unlotted: tuple[Use, ...] = ()

    @property
    def from_before(self) -> bool:
        """It was poured before the ledger began: its very fats came from no lot on record."""
        return not self.uses and any(use.role == "fat" for use in self.unlotted)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLineFacts:
    """Bars of one recipe wanted."""

    TABLE: ClassVar = "order_line"

    recipe_code: str
    bars: int
    price_cents: Cents | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerOrder:
    """Who wants something, and when.

    Attributes:
        contact: how to reach them.
        destination: the state or country it goes to.
        ship_to: what stands on the parcel under the name; a ; parts its lines.
        wanted_on: the day it should leave.
    """

    TABLE: ClassVar = "customer_order"

    order_ref: Indexed
    customer: str
    contact: str = ""
    destination: Long = ""
    ship_to: Long = ""
    wanted_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderFacts(CustomerOrder):
    """An order as it came in."""

    lines: tuple[OrderLineFacts, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """Bars of a recipe that someone waits for; their newest word stands, and 0 bars end it."""

    TABLE: ClassVar = "want"

    customer: str
    recipe_code: Indexed
    bars: int
    contact: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OldPageFacts:
    """One batch of a maker's notes from before the ledger: history, never poured or sold by.

    Attributes:
        source: the file it stood in; stands_at: its line or row there.
        said: all that stood there; said_sha256: of place and words, so that it is taken in once.
        understood_json: what was understood, guessed and missing, as it was then.
    """

    TABLE: ClassVar = "old_page"

    source: str
    stands_at: str
    said: Long
    said_sha256: Indexed
    poured_on: date | None = None
    variety: str = ""
    bars: int | None = None
    understood_json: Long = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OldPageRecord:
    """A page of old notes on record, with the entry that took it in."""

    entry_id: int
    facts: OldPageFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """Work or money that went into a lot, or into the shop as a whole.

    Attributes:
        minutes: of work; None where money was spent.
        amount_cents: what was paid; None where work was done.
    """

    TABLE: ClassVar = "spent"

    what: SpentOn
    minutes: int | None = None
    amount_cents: Cents | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What a bar of a recipe sells for to one kind of buyer, from its entry's day on.

    Attributes:
        price_cents: of one bar, before tax; None takes it off the list.
    """

    TABLE: ClassVar = "price"

    recipe_code: Indexed
    buyer: str
    price_cents: Cents | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Retirement:
    """A recipe is no longer poured or planned, or is again; the newest word stands."""

    TABLE: ClassVar = "retirement"

    recipe_code: Indexed
    retired: bool
    reason: Long


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """What bars that left, or came back, were sold for.

    Attributes:
        buyer: kind of buyer, such as `direct` or `wholesale`.
        price_cents: of one bar, before tax.
        discount_cents, postage_cents, tax_cents: of the whole movement, as entered; tax comes on
            top of the price.
    """

    TABLE: ClassVar = "sale"

    buyer: str
    price_cents: Cents
    discount_cents: Cents = 0
    postage_cents: Cents = 0
    tax_cents: Cents = 0
    currency: str = ""

    def goods_cents(self, bars: int) -> int:
        """What so many bars brought in, less the discount, in cents."""
        return self.price_cents * bars - self.discount_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class InvoiceLineFacts:
    """One line of an invoice or credit note: bars of a lot at a price.

    Attributes:
        sold: the entry that sent them, or took them back.
        bars: below zero for bars that came back.
    """

    TABLE: ClassVar = "invoice_line"

    sold: int
    recipe_code: str
    name: str
    lot_code: str
    bars: int
    price_cents: Cents

    @property
    def cents(self) -> int:
        """Bars times price, in cents."""
        return self.bars * self.price_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class InvoiceHead:
    """An invoice or credit note; once given it stands as it is.

    Attributes:
        series: which row of numbers it stands in, such as `2026`.
        number: counted from 1 in its series, without a gap.
        credits: entry of the invoice that a credit note takes back; 0 for an invoice.
        paid: how it was paid, which makes it a receipt; empty when it is owed.
    """

    TABLE: ClassVar = "invoice"

    series: str
    number: int
    kind: PaperKind
    customer: str
    address: Long = ""
    order_ref: str = ""
    credits: int = 0
    reason: Long = ""
    paid: str = ""
    due_on: date | None = None
    currency: str = ""
    discount_cents: Cents = 0
    postage_cents: Cents = 0
    tax_cents: Cents = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Invoice(InvoiceHead):
    """An invoice or credit note on record with its lines."""

    lines: tuple[InvoiceLineFacts, ...] = ()
    on: date | None = None
    entry_id: int = 0

    @property
    def shown(self) -> str:
        """Its number as people read it."""
        return f"{self.series}-{self.number:04d}"

    @property
    def goods_cents(self) -> int:
        """All lines together, before the discount, in cents."""
        return sum(line.cents for line in self.lines)

    @property
    def total_cents(self) -> int:
        """What is to be paid, or paid back, in cents."""
        return self.goods_cents - self.discount_cents + self.postage_cents + self.tax_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallNotice:
    """A recall in earnest as customers are told of it: of what lot, when, why, what they get."""

    lot_code: LotCode
    on: date
    hazard: str
    remedy: str
    entry_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeVersion:
    """One frozen text of a recipe; versions of a code count from 1.

    Attributes:
        retired: why the recipe is no longer poured; empty while it is.
    """

    code: str
    version: int
    text: str
    sha256: str
    added_on: date
    entry_id: int = 0
    retired: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnmouldRecord(LotFact):
    """Bars out of the mould to `place`; `bars` are good ones, `rejects` come on top of them."""

    TABLE: ClassVar = "unmould"

    bars: int
    rejects: int
    counted_bars: int
    counted_mass_mg: Mg
    place: str

    @property
    def bar_g(self) -> Decimal:
        """Mass of one of the counted bars, g."""
        return g_from_mg(self.counted_mass_mg) / self.counted_bars


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighRecord(LotFact):
    """Mass of a counted set of bars of one lot on one day."""

    TABLE: ClassVar = "weigh_in"

    bars: int
    mass_mg: Mg
    place: str | None = None
    room_c: float | None = None
    room_rh: float | None = None

    @property
    def mass_g(self) -> Decimal:
        """Mass of all the bars on the scale, g."""
        return g_from_mg(self.mass_mg)

    @property
    def bar_g(self) -> Decimal:
        """Mass of one bar, g."""
        return self.mass_g / self.bars


@dataclass(frozen=True, slots=True, kw_only=True)
class TestRecord(LotFact):
    """A free-alkali (or pH) test on record."""

    __test__ = False  # so that pytest does not take it for a test class
    TABLE: ClassVar = "test_result"

    method: Method
    passed: bool
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionRecord(LotFact):
    """A named person's release, hold or reject, with the reason."""

    TABLE: ClassVar = "decision"

    decision: Decision
    reason: Long


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredRecord(LotFact):
    """Another net weight of a bar than the recipe's, declared for one batch, with the reason."""

    TABLE: ClassVar = "declared_weight"

    mass_mg: Mg
    reason: Long

    @property
    def mass_g(self) -> Decimal:
        """Net weight of a bar from then on, g."""
        return g_from_mg(self.mass_mg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A picture of a batch, kept as a JPEG of at most MOST_PHOTO_BYTES.

    Attributes:
        width, height: in points.
        sha256: of the JPEG; jpeg: the same in Base64 (RFC 4648), read only when it is looked at.
    """

    TABLE: ClassVar = "photo"

    width: int
    height: int
    sha256: str
    jpeg: Long


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoRecord(LotFact):
    """A picture on record, without its points: a reader hands those over one by one."""

    lot_code: LotCode
    width: int
    height: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShipmentRecord(LotFact):
    """Bars that left for a customer: a movement as a reader sees it, so no table of its own."""

    bars: int
    customer: str
    order_ref: str
    destination: str
    from_place: str
    lot_code: LotCode


@dataclass(frozen=True, slots=True)
class Held:
    """Bars of a lot at one place, and of what kind that place is."""

    place: str
    kind: PlaceKind
    bars: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchFacts:
    """Everything on record about one pour's lot; undone entries are left out.

    Attributes:
        ingredient_lots: the lots of `pour.uses`, by lot code.
        held: bars by place, places without any left out; only places where bars really are.
        decisions, declared: oldest first, so the last one stands.
    """

    lot_code: LotCode
    recipe_code: str
    recipe_version: int
    recipe_text: str
    poured_on: date
    by: str
    entry_id: int
    pour: PourFacts
    ingredient_lots: Mapping[LotCode, IngredientLot] = field(default_factory=dict)
    unmould: UnmouldRecord | None = None
    weigh_ins: tuple[WeighRecord, ...] = ()
    tests: tuple[TestRecord, ...] = ()
    decisions: tuple[DecisionRecord, ...] = ()
    declared: tuple[DeclaredRecord, ...] = ()
    held: tuple[Held, ...] = ()
    shipments: tuple[ShipmentRecord, ...] = ()
    note: str = ""

    def lot_of(self, use: Use) -> IngredientLot | None:
        """The ingredient lot that something in the pot came from, or None."""
        return None if use.lot_code is None else self.ingredient_lots.get(use.lot_code)

    @property
    def places(self) -> dict[str, int]:
        """Bars by the name of their place, customers and waste included."""
        return {at.place: at.bars for at in self.held}

    def for_sale(self) -> dict[str, int]:
        """Bars by place that could be sold: not gone, retained, returned or in the mould."""
        return {at.place: at.bars for at in self.held if at.bars > 0 and KINDS[at.kind].for_sale}

    @property
    def in_hand(self) -> int:
        """How many bars could still be sold."""
        return sum(self.for_sale().values())

    def on_shelf(self) -> dict[str, int]:
        """Bars by place that stand on a shelf of any name."""
        return {at.place: at.bars for at in self.held if at.bars > 0 and at.kind == "shelf"}

    def as_of(self, day: date, held: tuple[Held, ...]) -> Self:
        """The batch as it stood at the end of a day, when its bars were `held` so."""
        then: dict[str, Any] = {}
        for name in (x.name for x in fields(self)):
            value = getattr(self, name)
            if isinstance(value, LotFact):
                then[name] = value if value.on <= day else None
            elif isinstance(value, tuple) and name != "held":
                then[name] = tuple(x for x in value if x.on <= day)
        return replace(self, held=held, **then)


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryRecord:
    """One entry of the ledger as a line of history."""

    id: int
    kind: str
    happened_on: date
    entered_at: datetime
    by: str
    note: str
    undone_by: int | None
    undoes: int | None
    summary: str
    lot_code: LotCode | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLine:
    """How much of one lot lies at one place; `item` is the ingredient key or the recipe code.

    `place_kind` says what the place is for (see places.KINDS).
    """

    lot_code: LotCode
    kind: LotKind
    item: str
    place: str
    place_kind: PlaceKind
    unit: Unit
    quantity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRecord:
    """A place stock can be; `capacity_bars` is None where nobody said."""

    name: str
    kind: PlaceKind
    capacity_bars: int | None = None


@cache
def columns_of(record: type) -> dict[str, Any]:
    """The columns of a declared record's table beside its entry's: name and type as written."""
    declared: Any = next(one for one in record.__mro__ if "TABLE" in vars(one))
    types = get_type_hints(declared, include_extras=True)
    of_entry = {x.name for x in fields(LotFact)}
    return {x.name: types[x.name] for x in fields(declared) if x.name not in of_entry}


@cache
def batch_facts() -> dict[str, tuple[type[LotFact], bool]]:
    """The fields of BatchFacts with a table: the record, and whether many stand or the newest."""
    found: dict[str, tuple[type[LotFact], bool]] = {}
    for name, kind in get_type_hints(BatchFacts).items():
        for record in get_args(kind):
            if (
                isinstance(record, type)
                and issubclass(record, LotFact)
                and hasattr(record, "TABLE")
            ):
                found[name] = (record, get_origin(kind) is tuple)
    return found
