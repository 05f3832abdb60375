"""Invented wordings and the shipped designs for the render tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from soapstock.labelling.wording import LabelWording, Statement

FOLDERS = [Path(__file__).parents[2] / "labels"]
FOURTEEN = (
    "Ingredients: Adeps Bovis, Cocos Nucifera Oil, Aqua, Olea Europaea Fruit Oil, Sodium Hydroxide,"
    " Ricinus Communis Seed Oil, Butyrospermum Parkii Butter, Kaolin, Avena Sativa Kernel Flour,"
    " Maris Sal, Lavandula Angustifolia Oil, Linalool, Linalyl Acetate, CI 77007"
)
TEXTS = {
    "name": "Driftwood",
    "identity": "Soap",
    "net_weight": "Net Wt 3.98 oz (113 g)",
    "ingredients": FOURTEEN,
    "maker": "Made by Heronwick Saltings, 3 Staithe Lane, Saltmarsh End, EX1 2MP,"
    " hello@heronwick.example",
    "lot": "Lot DRF-26329-AK",
    "made": "Made 25 Nov 2026",
    "best_before": "Best before 25 May 2028",
}
OPTIONAL = {"name", "made"}
MakeWording = Callable[..., LabelWording]


def make_wording(code: str = "DRF26329AK", qr: str | None = None, **texts: str) -> LabelWording:
    """A label's wording; a keyword replaces a statement's text, empty drops the statement."""
    merged = {**TEXTS, "lot": f"Lot {code[:3]}-{code[3:8]}-{code[8:]}", **texts}
    return LabelWording(
        statements=tuple(
            Statement(kind=kind, text=text, rule="rule of the test", required=kind not in OPTIONAL)
            for kind, text in merged.items()
            if text
        ),
        lot_code=code,
        qr_text=qr or f"https://heronwick.example/lot/{code}",
        cautions=("Rules differ by place; the maker answers for the label.",),
    )


@pytest.fixture
def wording() -> MakeWording:
    """Makes wordings."""
    return make_wording


@pytest.fixture
def folders() -> list[Path]:
    """The shipped label folder."""
    return FOLDERS
