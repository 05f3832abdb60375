"""A maker's order file, whatever its columns are called."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.exchange.order_csv import OWN, read_mapping, read_orders

COLUMNS = """[columns]
order = "No"
customer = "Name"
recipe = "Item"
bars = "Qty"
wanted_by = "Ship by"
price = "Each"
"""
MAPPING = f"""delimiter = ";"
date_format = "%d/%m/%Y"
{COLUMNS}
[recipes]
"Driftwood bar" = "DRF"
"""


def test_columns_recipes_and_dates_are_mapped():
    """Lines of an order come together, in the file's order."""
    text = (
        "No;Name;Item;Qty;Ship by;Each\n7;A. Shop;Driftwood bar;6;27/11/2026;6.50\n"
        "8;B. Shop;SAM;1;;\n7;A. Shop;EBB;2;27/11/2026;\n"
    )
    first, second = read_orders(text, read_mapping(MAPPING, "m.toml"), "o.csv")
    assert first.lines == (("DRF", 6, 650), ("EBB", 2, None))
    assert (first.wanted_on, second.wanted_on) == (date(2026, 11, 27), None)
    assert second.order_ref == "8"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("order,customer,recipe\n1,a,DRF\n", "no column 'bars'"),
        ("", "no column 'order'"),
        ("order,customer,recipe,bars\n1,a,DRF,-3\n", "line 2: bars '-3' is not a count"),
        ("order,customer,recipe,bars\n1,a,DRF,3\n1,b,DRF,3\n", "line 3: order 1 has another"),
        ("order,customer,recipe,bars\n,a,DRF,3\n", "line 2: order is empty"),
        ("order,customer,recipe,bars\n1,a,DRF,3,4,5\n", "more cells than columns"),
        ("order,customer,recipe,bars\n1,a\0,DRF,3\n", "not a text file"),
        ("order,customer,recipe,bars,wanted_by\n1,a,DRF,3,soon\n", "wanted_by 'soon'"),
        ("order,customer,recipe,bars,price\n1,a,DRF,3,1e999\n", "price '1e999'"),
    ],
)
def test_a_bad_file_names_file_and_line(text, said):
    """And nothing is guessed."""
    with pytest.raises(BadInput) as caught:
        read_orders(text, OWN, "o.csv")
    assert said in caught.value.message
    assert "o.csv" in caught.value.message


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[colums]\n", "colums: unknown field"),
        ('[columns]\norder = "No"\nbuyer = "x"\n', r"m\.toml:3: columns\.buyer: unknown field"),
        ('[columns]\norder = "No"\n', r"columns\.customer: is missing"),
        ("[columns]\norder = 3\n", r"m\.toml:2: columns\.order: '3' is not a text"),
        ('delimiter = ";;"\n' + COLUMNS, "m.toml:1: delimiter: must be one character"),
        ("delimiter = 3\n" + COLUMNS, "delimiter: '3' is not a text"),
        ('date_format = "dd.mm."\n' + COLUMNS, "date_format"),
        (COLUMNS + "[recipes]\nDriftwood = 3\n", "recipes: is not a table of texts"),
        ("order = = 3", "m.toml:1: not valid TOML"),
    ],
)
def test_a_bad_mapping_is_refused(text, said):
    """With file, line and key."""
    with pytest.raises(BadInput, match=said):
        read_mapping(text, "m.toml")


@given(st.text(max_size=400))
def test_any_text_is_read_or_refused(text):
    """No traceback, whatever the file holds."""
    for head in ("", "order,customer,recipe,bars,wanted_by,price\n"):
        try:
            rows = read_orders(head + text, OWN, "o.csv")
        except BadInput:
            continue
        assert all(bars > 0 for row in rows for _, bars, _ in row.lines)


def test_what_a_shop_says_once_holds_for_the_whole_order():
    """Web shops leave the customer blank on an order's further lines; the note is kept."""
    text = (
        "order,customer,recipe,bars,wanted_by,note\n"
        "7,,DRF,6,,\n7,A. Shop,EBB,2,2026-11-27,a gift\n8,B. Shop,SAM,1,,\n"
    )
    first, second = read_orders(text, OWN, "o.csv")
    assert (first.customer, first.wanted_on, first.note) == (
        "A. Shop",
        date(2026, 11, 27),
        "a gift",
    )
    assert first.lines == (("DRF", 6, None), ("EBB", 2, None))
    assert second.note == ""
    with pytest.raises(BadInput, match="order 9: customer is empty"):
        read_orders("order,customer,recipe,bars\n9,,DRF,1\n", OWN, "o.csv")


@pytest.mark.parametrize(("price", "cents"), [("36.00", 3600), ("35.99", 3599), ("", None)])
def test_a_box_is_its_bars_and_keeps_its_price(price, cents):
    """Two boxes of four and two: 8 and 4 bars, which bring to the cent what the boxes cost."""
    mapping = read_mapping(COLUMNS + '[recipes]\nBox = "DRF=4 EBB=2"\n', "m.toml")
    text = f"No,Name,Item,Qty,Ship by,Each\n7,A. Shop,Box,2,,{price}\n"
    (order,) = read_orders(text, mapping, "o.csv")
    bars = {code: sum(n for c, n, _ in order.lines if c == code) for code in ("DRF", "EBB")}
    assert bars == {"DRF": 8, "EBB": 4}
    if cents is None:
        assert {each for _, _, each in order.lines} == {None}
    else:
        assert sum(n * each for _, n, each in order.lines) == 2 * cents
