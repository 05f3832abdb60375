"""Cautions beside every lye weight."""

from __future__ import annotations

import pytest

from soapstock.chemistry.cautions import lye_cautions


@pytest.mark.parametrize(
    "word",
    [
        "goggles",
        "gloves",
        "ventilate",
        "never water to lye",
        "aluminium",
        "polypropylene",
        "glass",
        "104 C",
        "children and animals",
        "plenty of water",
        "not first aid",
    ],
)
def test_every_usual_caution_is_said(word: str) -> None:
    """The list of the design notes is whole."""
    assert word in " ".join(lye_cautions(104.4))


def test_an_unknown_peak_is_called_near_boiling() -> None:
    """No figure is made up."""
    assert any("near boiling" in line for line in lye_cautions(None))


def test_lye_that_hardly_heats_is_not_made_to_sound_harmless() -> None:
    """Ready lye that is not diluted stays as warm as the room, and burns."""
    said = " ".join(lye_cautions(20.0))
    assert "hardly heats" in said
    assert "burns as any lye does" in said
    assert "hardly heats" not in " ".join(lye_cautions(52.0))
