"""How the fat left over keeps."""

from __future__ import annotations

from soapstock.chemistry.composition import Composition, Part
from soapstock.chemistry.keeping import keeping_of


def bar(**fats: float) -> Composition:
    """A bar of 100 g with some fat left over."""
    parts = tuple(Part(key=key, mass_g=mass) for key, mass in fats.items())
    left = sum(fats.values())
    return Composition(
        soaps=(),
        unsaponified=parts,
        glycerol_g=90.0 - left,
        water_g=10.0,
        free_naoh_g=0.0,
        free_koh_g=0.0,
        inert_g=0.0,
        additions=(),
    )


def test_linseed_keeps_worse_than_olive() -> None:
    """More polyunsaturated acids, a higher share."""
    linseed, olive = keeping_of(bar(linseed=5.0)), keeping_of(bar(olive=5.0))
    assert linseed.polyunsaturated_percent is not None
    assert olive.polyunsaturated_percent is not None
    assert linseed.polyunsaturated_percent > 50
    assert olive.polyunsaturated_percent < 20


def test_no_threshold_is_claimed() -> None:
    """The note says that none is published."""
    assert "no published limit" in keeping_of(bar(olive=5.0)).note


def test_an_unknown_fat_gives_no_figure() -> None:
    """Nothing is made up."""
    found = keeping_of(bar(beeswax=5.0))
    assert found.polyunsaturated_percent is None
    assert found.covered_percent == 0.0
