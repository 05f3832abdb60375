"""Where the shipped folders stand."""

from __future__ import annotations

from pathlib import Path

import pytest

from soapstock.errors import BadTable
from soapstock.tables import shipped


def test_an_installed_folder_wins_over_the_checkout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wheel carries its own copy."""
    package = tmp_path / "soapstock"
    inside, beside = package / "_shipped" / "labels", tmp_path / "labels"
    beside.mkdir(parents=True)
    monkeypatch.setattr(shipped, "PACKAGE", package)
    package.mkdir()
    assert shipped.shipped_dir("labels") == beside
    inside.mkdir(parents=True)
    assert shipped.shipped_dir("labels") == inside


def test_a_missing_folder_is_a_clear_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither place holds it."""
    monkeypatch.setattr(shipped, "PACKAGE", tmp_path / "soapstock")
    with pytest.raises(BadTable, match="sample_data"):
        shipped.shipped_dir("sample_data")
