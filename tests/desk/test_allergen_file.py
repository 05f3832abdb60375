"""Suppliers' allergen figures in the shop's folder."""

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.desk.allergen_file import load_certificates, parse_certificates
from soapstock.errors import BadInput

HEAD = "scent,allergen,percent\n"


def test_figures_are_read_by_name_in_any_case_or_by_cas_number() -> None:
    """Aliases of a scent lead to its key."""
    found = parse_certificates(
        f"# lab sheet\n{HEAD}lavender,linalool,31.5 %\nlavender,115-95-7,33\nmoor,Coumarin,2\n", "a"
    )
    assert found == {
        "lavender-oil": {"Linalool": Decimal("31.5"), "Linalyl Acetate": Decimal(33)},
        "moor": {"Coumarin": Decimal(2)},
    }


def test_no_file_means_no_figures(tmp_path: Path) -> None:
    """The file is the maker's choice."""
    assert load_certificates(tmp_path) == {}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "heading"),
        ("scent;allergen;percent\n", "heading"),
        (HEAD + "lavender,Linalol,3\n", "a:2"),
        (HEAD + "lavender,Linalool,much\n", "not a number"),
        (HEAD + "lavender,Linalool,101\n", "0 to 100"),
        (HEAD + "lavender,Linalool\n", "2 cells"),
        (HEAD + ",Linalool,3\n", "no scent"),
        (HEAD + "lavender,Linalool,3\nlavender-oil,linalool,4\n", "twice"),
    ],
)
def test_a_broken_file_is_refused_with_its_line(text: str, says: str) -> None:
    """An allergen that is misspelt must not vanish."""
    with pytest.raises(BadInput, match=says):
        parse_certificates(text, "a")


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text ends in a crash."""
    try:
        parse_certificates(HEAD + text, "a")
    except BadInput:
        pass
