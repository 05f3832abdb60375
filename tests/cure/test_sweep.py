"""Inverses of many small matrices against numpy's one by one."""

from __future__ import annotations

import numpy as np
import pytest

from soapstock.cure.sweep import invert


@pytest.mark.parametrize("size", [0, 1, 5, 30])
def test_inverses_and_determinants_are_those_of_numpy(size: int) -> None:
    """Random symmetric positive matrices, two by three of them at once."""
    rng = np.random.default_rng(3)
    root = rng.normal(size=(2, 3, size, size))
    matrices = root @ root.swapaxes(-1, -2) + 0.1 * np.eye(size)
    before = matrices.copy()
    inverse, ln_determinant = invert(matrices)
    assert inverse == pytest.approx(np.linalg.inv(matrices), rel=1e-6, abs=1e-6)
    assert ln_determinant == pytest.approx(np.linalg.slogdet(matrices)[1])
    assert np.array_equal(matrices, before)
