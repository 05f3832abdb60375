"""The law's rules, claims and a lot's label, as the commands read them."""

from datetime import UTC, date, datetime
from pathlib import Path

from soapstock.desk.desk import Desk, open_desk
from soapstock.labelling.type_size import size_steps
from soapstock.views import law

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
TODAY = date(2026, 11, 20)
DRIFTWOOD = "DRF-26241-AZ"


def test_rules_carry_their_source() -> None:
    """Each row has text, citation and confidence."""
    rows = law.rule_rows("eu", TODAY)
    assert all(row.text and row.citation and row.confidence for row in rows)


def test_the_allergens_of_a_market_grow_on_their_day() -> None:
    """24 names in the EU up to 31 July 2026, 81 after."""
    assert len(law.allergen_rows("eu", date(2026, 7, 31))) == 24
    assert len(law.allergen_rows("eu", date(2026, 8, 1))) == 81
    assert law.allergen_rows("us-soap", TODAY) == []


def test_sizes_are_listed_step_by_step() -> None:
    """Canada has five steps by area and one for other text."""
    assert [row.min_mm for row in size_steps("ca", TODAY)] == [
        1.6,
        3.2,
        6.4,
        9.5,
        12.7,
        1.6,
    ]


def test_a_lot_s_label_is_explained_rule_by_rule(demo_shop: Path) -> None:
    """Every statement of the demo's label has a rule, and its weight a height."""
    with open_desk(demo_shop, today=TODAY, now=NOW) as desk:
        rows = law.explain_label(desk, DRIFTWOOD, panel_cm2=54.0).statements
    assert {"name", "identity", "net_weight", "ingredients", "maker", "lot"} <= {
        row.statement for row in rows
    }
    assert all(row.rule for row in rows)
    assert next(row for row in rows if row.statement == "net_weight").min_mm == 3.2


def test_a_lot_s_declared_weight_is_judged(demo_shop: Path) -> None:
    """The demo's promise is kept, and the largest that could be promised is no smaller."""
    with open_desk(demo_shop, today=TODAY, now=NOW) as desk:
        found = law.check_declared(desk, DRIFTWOOD, chance=0.95)
    assert found.chance_at_pack > 0.95
    assert found.largest_g_at_pack >= found.checked_g


def test_the_demo_s_labels_make_no_claim(demo_shop: Path) -> None:
    """Nothing on our own demo label turns its soap into a cosmetic."""
    with open_desk(demo_shop, today=TODAY, now=NOW) as desk:
        words = law.label_words(desk, DRIFTWOOD, "us-soap")
    assert law.claims_in(words, "us-soap") == ()


def test_a_label_is_explained_by_the_bar_s_own_front(desk: Desk) -> None:
    """Without a panel the bar in a close wrap gives the height: 92 x 58 mm is 53.4 cm2."""
    rows = law.explain_label(desk, DRIFTWOOD, market="ca").statements
    weight = next(row for row in rows if row.statement == "net_weight")
    assert weight.min_mm == 3.2
    assert "53.4 cm2" in weight.size_because
