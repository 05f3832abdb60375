"""A delivery of several ingredients, from a list."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.delivery import Came, read_line, receive_list
from soapstock.errors import BadInput, NotFound
from soapstock.upkeep import ledger

HEAD = "ingredient,mass,lot,cost,best_before\n"


def test_a_line_is_read_as_typed() -> None:
    """What is not known is left out, in the middle too."""
    assert read_line("olive, 5kg, 77A, 24.50, 2027-08-31") == Came(
        ingredient="olive",
        mass="5kg",
        supplier_lot="77A",
        cost="24.50",
        best_before=date(2027, 8, 31),
    )
    assert read_line("naoh, 2lb 3oz,, 9") == Came(ingredient="naoh", mass="2lb 3oz", cost="9")


def test_a_package_may_name_a_month_and_a_shop_its_own_order_of_days() -> None:
    """Best before 09/2027 is good to the 30th; 8/31/27 where days are written so."""
    ends = {
        "2027-09": date(2027, 9, 30),
        "02/2028": date(2028, 2, 29),
        "8/31/27": date(2027, 8, 31),
    }
    for text, day in ends.items():
        assert read_line(f"olive, 5kg, 77A, 24.50, {text}", days="mdy").best_before == day
    with pytest.raises(BadInput, match="not a day"):
        read_line("olive, 5kg, 77A, 24.50, 13/2027")


@pytest.mark.parametrize("text", ["olive", "olive,", ",5kg", "a,b,c,d,e,f", 'olive,5kg,"x'])
def test_what_is_no_line_is_refused(text: str) -> None:
    """One clear line."""
    with pytest.raises(BadInput):
        read_line(text)


def test_a_list_is_received_with_its_supplier(desk: Desk, tmp_path: Path) -> None:
    """The supplier is typed once, each lot has its own paper."""
    path = tmp_path / "slip.csv"
    path.write_text(HEAD + "olive,5kg,77A,24.50,2027-08-31\n\ncoconut oil,2lb 3oz\n")
    done = receive_list(desk, path, "Chandler (invented)")
    with desk.ledger.read() as reader:
        olive, coconut = (reader.ingredient_lot(entered.lot_code) for entered in done)
    assert (olive.supplier, olive.supplier_lot, olive.cost_cents) == (
        "Chandler (invented)",
        "77A",
        2450,
    )
    assert (coconut.supplier, coconut.ingredient) == ("Chandler (invented)", "coconut")
    assert coconut.mass_mg == 992_233  # 2 lb 3 oz at 453.59237 g a lb (NIST SP 811, appendix B.8)


def test_a_wrong_line_leaves_all_out(desk: Desk, tmp_path: Path) -> None:
    """File and line are said; nothing of the list is received."""
    path = tmp_path / "slip.csv"
    path.write_text(HEAD + "olive,5kg\nunobtainium,2kg\n")
    before = ledger.audit(desk).entries
    with pytest.raises(NotFound, match=r"slip\.csv:3"):
        receive_list(desk, path, "Chandler (invented)")
    path.write_text(HEAD + "olive,5\n")
    with pytest.raises(BadInput, match=r"slip\.csv:2"):
        receive_list(desk, path, "Chandler (invented)")
    path.write_text("oil,weight\nolive,5kg\n")
    with pytest.raises(BadInput, match="columns"):
        receive_list(desk, path, "Chandler (invented)")
    assert ledger.audit(desk).entries == before
