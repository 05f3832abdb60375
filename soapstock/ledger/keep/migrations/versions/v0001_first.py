"""First schema: entries chained by hash, lots, postings, facts, orders; all append-only."""

import sqlalchemy as sa
from alembic import op

from soapstock.ledger.keep.migrations.steps import append_only, fact_about_lot, of_entry, of_lot

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

PLACES = (
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
)
TABLES = (  # of those made here by name; fact_about_lot guards its own
    "entry",
    "place",
    "lot",
    "posting",
    "recipe_version",
    "receipt",
    "pour",
    "use_line",
    "movement",
    "customer_order",
    "order_line",
    "order_close",
    "reservation",
    "label_run",
    "reorder_level",
    "recall_run",
    "want",
    "old_page",
    "spent",
    "price",
    "retirement",
    "sale",
    "invoice",
    "invoice_line",
)
LIVE_TWIN = (
    "EXISTS (SELECT 1 FROM lot WHERE code = NEW.code AND NOT EXISTS "
    "(SELECT 1 FROM entry WHERE entry.undoes = lot.id))"
)


def _text(name: str, *, null: bool = False, long: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text() if long else sa.String(), nullable=null)


def _int(name: str, *, null: bool = False, big: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.BigInteger() if big else sa.Integer(), nullable=null)


def _float(name: str, *, null: bool = True) -> sa.Column[float]:
    return sa.Column(name, sa.Float(), nullable=null)


def _date(name: str, *, null: bool = True) -> sa.Column[object]:
    return sa.Column(name, sa.Date(), nullable=null)


def _line() -> sa.Column[int]:
    return sa.Column("line", sa.Integer(), primary_key=True)


def _index(table: str, *columns: str) -> None:
    for column in columns:
        op.create_index(f"ix_{table}_{column}", table, [column])


def _ledger_tables() -> None:
    op.create_table(
        "entry",
        sa.Column("id", sa.Integer(), primary_key=True, autoincrement=False),
        _text("kind"),
        _date("happened_on", null=False),
        sa.Column("entered_at", sa.DateTime(), nullable=False),
        _text("by"),
        _text("note", long=True),
        _text("summary", long=True),
        sa.Column("client_key", sa.String(), unique=True),
        _text("client_sha256", null=True),
        sa.Column("undoes", sa.Integer(), sa.ForeignKey("entry.id"), unique=True),
        _int("lot_id", null=True),
        _text("prev_hash"),
        _text("hash"),
    )
    _index("entry", "lot_id", "happened_on")
    op.create_table(
        "place",
        sa.Column("name", sa.String(), primary_key=True),
        _text("kind"),
        _int("capacity_bars", null=True),
        sa.Column("entry_id", sa.Integer(), sa.ForeignKey("entry.id")),
    )
    op.create_table(
        "lot",
        sa.Column(
            "id", sa.Integer(), sa.ForeignKey("entry.id"), primary_key=True, autoincrement=False
        ),
        _text("code"),
        _text("kind"),
        _text("item"),
    )
    _index("lot", "code", "item")
    op.create_table(
        "posting",
        of_entry(),
        _line(),
        of_lot(index=False),
        _text("unit"),
        sa.Column("place", sa.String(), sa.ForeignKey("place.name"), nullable=False),
        _int("quantity", big=True),
    )
    op.create_index("ix_posting_lot", "posting", ["lot_id", "unit", "place", "quantity"])
    op.create_index("ix_posting_place", "posting", ["place", "unit", "quantity"])


def _batch_tables() -> None:
    op.create_table(
        "recipe_version",
        of_entry(),
        _text("code"),
        _int("version"),
        _text("text", long=True),
        _text("sha256"),
    )
    op.create_index("ux_recipe_version", "recipe_version", ["code", "version"], unique=True)
    op.create_table(
        "receipt",
        of_entry(),
        _text("ingredient"),
        _int("mass_mg", big=True),
        _text("supplier"),
        _text("supplier_lot"),
        _int("cost_cents", null=True, big=True),
        _text("currency"),
        _date("best_before"),
        _float("sv_low"),
        _float("sv_nominal"),
        _float("sv_high"),
        _text("certificate"),
        _text("animal"),
        _int("raw_fat_mg", null=True, big=True),
        _float("acid_value"),
        _float("moisture_percent"),
        _text("place"),
    )
    op.create_table(
        "pour",
        of_entry(),
        sa.Column(
            "recipe_entry_id",
            sa.Integer(),
            sa.ForeignKey("recipe_version.entry_id"),
            nullable=False,
        ),
        _text("planned_json", long=True),
        _text("judgement_json", long=True),
        _int("batter_mg", big=True),
        _float("lye_c"),
        _float("fats_c"),
        _float("peak_c"),
        _float("room_c"),
        _float("room_rh"),
        _float("trace_minutes"),
        _float("cooled_minutes"),
        sa.Column("seized", sa.Boolean(), nullable=False),
        _text("mould"),
    )
    _index("pour", "recipe_entry_id")
    op.create_table(
        "use_line",
        of_entry(),
        _line(),
        of_lot(null=True),
        _text("ingredient"),
        _text("role"),
        _int("mass_mg", big=True),
        _int("bars", null=True),
        _text("place", null=True),
    )
    fact_about_lot(
        "unmould",
        _int("bars"),
        _int("rejects"),
        _int("counted_bars"),
        _int("counted_mass_mg", big=True),
        _text("place"),
    )
    fact_about_lot(
        "weigh_in",
        _int("bars"),
        _int("mass_mg", big=True),
        _text("place", null=True),
        _float("room_c"),
        _float("room_rh"),
    )
    fact_about_lot(
        "test_result",
        _text("method"),
        sa.Column("passed", sa.Boolean(), nullable=False),
        _text("value"),
    )
    fact_about_lot("decision", _text("decision"), _text("reason", long=True))
    fact_about_lot("declared_weight", _int("mass_mg", big=True), _text("reason", long=True))
    fact_about_lot(
        "photo", _int("width"), _int("height"), _text("sha256"), _text("jpeg", long=True)
    )
    op.create_table(
        "movement",
        of_entry(),
        of_lot(),
        _text("unit"),
        _int("quantity", big=True),
        _text("from_place"),
        _text("to_place"),
        _text("reason", long=True),
        _text("customer"),
        _text("order_ref"),
        _text("destination", long=True),
        _int("counted", null=True, big=True),
    )
    _index("movement", "customer", "order_ref")


def _trade_tables() -> None:
    op.create_table(
        "customer_order",
        of_entry(),
        _text("order_ref"),
        _text("customer"),
        _text("contact"),
        _text("destination", long=True),
        _text("ship_to", long=True),
        _date("wanted_on"),
    )
    _index("customer_order", "order_ref")
    of_order = sa.ForeignKey("customer_order.entry_id")
    op.create_table(
        "order_line",
        of_entry(),
        _line(),
        _text("recipe_code"),
        _int("bars"),
        _int("price_cents", null=True, big=True),
        _text("currency"),
    )
    op.create_table(
        "order_close",
        of_entry(),
        sa.Column("order_id", sa.Integer(), of_order, nullable=False),
        _text("outcome"),
        _text("reason", long=True),
    )
    _index("order_close", "order_id")
    op.create_table(
        "reservation",
        of_entry(),
        _line(),
        sa.Column(
            "order_id", sa.Integer(), sa.ForeignKey("customer_order.entry_id"), nullable=False
        ),
        of_lot(),
        _int("bars"),
    )
    _index("reservation", "order_id")
    op.create_table(
        "label_run",
        of_entry(),
        of_lot(),
        _int("printed"),
        _int("spoiled"),
        _int("used"),
        _text("face"),
    )
    op.create_table(
        "reorder_level", of_entry(), _text("item"), _text("unit"), _int("level", big=True)
    )
    _index("reorder_level", "item")
    op.create_table(
        "want",
        of_entry(),
        _text("customer"),
        _text("recipe_code"),
        _int("bars"),
        _text("contact"),
    )
    _index("want", "recipe_code")
    op.create_table(
        "old_page",
        of_entry(),
        _line(),
        _text("source"),
        _text("stands_at"),
        _text("said", long=True),
        _text("said_sha256"),
        _date("poured_on", null=True),
        _text("variety"),
        _int("bars", null=True),
        _text("understood_json", long=True),
    )
    _index("old_page", "said_sha256")
    op.create_table(
        "recall_run",
        of_entry(),
        of_lot(),
        sa.Column("practice", sa.Boolean(), nullable=False),
        _text("report_json", long=True),
        _float("seconds", null=False),
        _float("accounted_percent", null=False),
        _text("hazard", long=True),
        _text("remedy", long=True),
    )


def _money_tables() -> None:
    op.create_table(
        "spent",
        of_entry(),
        of_lot(null=True),
        _text("what"),
        _int("minutes", null=True),
        _int("amount_cents", null=True, big=True),
        _text("currency"),
    )
    op.create_table(
        "price",
        of_entry(),
        _text("recipe_code"),
        _text("buyer"),
        _int("price_cents", null=True, big=True),
        _text("currency"),
    )
    _index("price", "recipe_code")
    op.create_table(
        "retirement",
        of_entry(),
        _text("recipe_code"),
        sa.Column("retired", sa.Boolean(), nullable=False),
        _text("reason", long=True),
    )
    _index("retirement", "recipe_code")
    op.create_table(
        "sale",
        of_entry(),
        sa.Column("sold", sa.Integer(), sa.ForeignKey("entry.id"), nullable=False),
        _text("buyer"),
        _int("price_cents", big=True),
        _int("discount_cents", big=True),
        _int("postage_cents", big=True),
        _int("tax_cents", big=True),
        _text("currency"),
    )
    _index("sale", "sold")
    op.create_table(
        "invoice",
        of_entry(),
        _text("series"),
        _int("number"),
        _text("kind"),
        _text("customer"),
        _text("address", long=True),
        _text("order_ref"),
        _int("credits"),
        _text("reason", long=True),
        _text("paid"),
        _date("due_on"),
        _text("currency"),
        _int("discount_cents", big=True),
        _int("postage_cents", big=True),
        _int("tax_cents", big=True),
    )
    op.create_index("ux_invoice", "invoice", ["series", "number"], unique=True)
    op.create_table(
        "invoice_line",
        of_entry(),
        _line(),
        sa.Column("sold", sa.Integer(), sa.ForeignKey("entry.id"), nullable=False),
        _text("recipe_code"),
        _text("name"),
        _text("lot_code"),
        _int("bars"),
        _int("price_cents", big=True),
    )
    _index("invoice_line", "sold")


def _functions() -> None:
    """What the triggers of PostgreSQL call."""
    op.execute(
        "CREATE FUNCTION soapstock_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "RAISE EXCEPTION 'append-only: % of % refused', TG_OP, TG_TABLE_NAME "
        "USING ERRCODE = 'integrity_constraint_violation'; END $$"
    )
    op.execute(
        "CREATE FUNCTION soapstock_one_live_lot() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {LIVE_TWIN} THEN RAISE EXCEPTION 'append-only: lot code is in use' "
        "USING ERRCODE = 'unique_violation'; END IF; RETURN NEW; END $$"
    )


def _no_twin_lots() -> None:
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            f"CREATE TRIGGER lot_no_twin BEFORE INSERT ON lot WHEN {LIVE_TWIN} "
            "BEGIN SELECT RAISE(ABORT, 'append-only: lot code is in use'); END"
        )
        return
    op.execute(
        "CREATE TRIGGER lot_no_twin BEFORE INSERT ON lot "
        "FOR EACH ROW EXECUTE FUNCTION soapstock_one_live_lot()"
    )


def upgrade() -> None:
    """Make the tables, the built-in places and the triggers."""
    if op.get_bind().dialect.name != "sqlite":
        _functions()
    _ledger_tables()
    _batch_tables()
    _trade_tables()
    _money_tables()
    place = sa.table("place", sa.column("name", sa.String()), sa.column("kind", sa.String()))
    op.bulk_insert(place, [{"name": name, "kind": name} for name in PLACES])
    for table in TABLES:
        append_only(table)
    _no_twin_lots()


def downgrade() -> None:
    """There is no way back from the first schema: the ledger would be gone."""
    raise NotImplementedError("a ledger is never taken down; restore a backup instead")
