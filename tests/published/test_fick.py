"""Fick's law in bars against printed tables, finite differences and a reference library.

Sources: Terzaghi one-dimensional consolidation, degree of consolidation against time factor for
uniform start (course notes CEG 4012, Fall 2011; the same equation as drying of a slab, T = D t/l^2;
also in soil-mechanics textbooks); scipy 1.x special.jn_zeros for the zeros of J0; scipy
integrate.solve_ivp for a finite-difference brick written here; the short-time law
2 sqrt(T/pi) and the long-time law 8/pi^2 exp(-pi^2 T/4) (Crank 1975, chapter 4, from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import jn_zeros

from soapstock.cure.drying import disc_remaining, remaining, slab_remaining
from soapstock.recipes.bars import Brick, Cylinder

BRICK = Brick(length_mm=90, width_mm=60, height_mm=25)

# Published percent and time factor as printed; the tolerance is that of their last digit carried
# through the curve, at least 0.1 point. The row at 65 % is printed 0.342 where
# exact is 0.3404. The rows at 35, 60 and 85 % are from memory of the same table.
PRINTED = [
    (5, 0.002),
    (10, 0.0078),
    (15, 0.0177),
    (20, 0.0314),
    (25, 0.0491),
    (30, 0.0707),
    (35, 0.0962),
    (40, 0.126),
    (45, 0.159),
    (50, 0.197),
    (55, 0.239),
    (60, 0.286),
    (65, 0.342),
    (70, 0.403),
    (75, 0.477),
    (80, 0.567),
    (85, 0.684),
    (90, 0.848),
    (95, 1.129),
]


@pytest.mark.parametrize(("percent", "factor"), PRINTED)
def test_the_printed_consolidation_table(percent: float, factor: float) -> None:
    """Each printed row to 0.15 point of percent."""
    lost = 100.0 * (1.0 - float(slab_remaining(np.array(factor))))
    assert lost == pytest.approx(percent, abs=0.15)


@pytest.mark.parametrize("factor", [1e-6, 1e-4, 0.01, 0.049, 0.051, 0.2, 1.0, 3.0])
def test_the_slab_against_twenty_thousand_terms(factor: float) -> None:
    """The fixed few terms agree with the long series to 1e-6."""
    odd = 2.0 * np.arange(20_000) + 1.0
    series = (8.0 / (math.pi * odd) ** 2 * np.exp(-((math.pi * odd) ** 2) * factor / 4.0)).sum()
    truncated = 1.0 - (8.0 / (math.pi * odd) ** 2).sum()
    assert float(slab_remaining(np.array(factor))) == pytest.approx(series, abs=1e-6 + truncated)


@pytest.mark.parametrize("factor", [1e-4, 1e-3, 0.0049, 0.0051, 0.05, 0.3, 1.0])
def test_the_round_bar_against_bessel_zeros_of_scipy(factor: float) -> None:
    """The fixed few terms agree with 3000 of scipy's zeros to 1e-5."""
    zeros = jn_zeros(0, 3000)
    series = (4.0 / zeros**2 * np.exp(-(zeros**2) * factor)).sum()
    assert float(disc_remaining(np.array(factor))) == pytest.approx(series, abs=1e-5)


def test_the_short_cylinder_against_scipy_and_the_slab_series() -> None:
    """A cylinder of 70 by 30 mm is the product of both long series at D t of one week."""
    dt = 3.5e-11 * 7 * 86400.0
    zeros, odd = jn_zeros(0, 3000), 2.0 * np.arange(3000) + 1.0
    disc = (4.0 / zeros**2 * np.exp(-(zeros**2) * dt / 0.035**2)).sum()
    slab = (8.0 / (math.pi * odd) ** 2 * np.exp(-((math.pi * odd / 2) ** 2) * dt / 0.015**2)).sum()
    got = float(remaining(Cylinder(diameter_mm=70, height_mm=30), np.array(dt)))
    assert got == pytest.approx(disc * slab, abs=2e-4)


@pytest.mark.parametrize("factor", [1e-6, 1e-4, 1e-3, 1e-2])
def test_the_short_time_law_of_a_slab(factor: float) -> None:
    """Early on the loss is 2 sqrt(T/pi)."""
    lost = 1.0 - float(slab_remaining(np.array(factor)))
    assert lost == pytest.approx(2.0 * math.sqrt(factor / math.pi), rel=1e-6)


@pytest.mark.parametrize("factor", [0.5, 1.0, 2.0])
def test_the_long_time_law_of_a_slab(factor: float) -> None:
    """Late the first term alone rules."""
    first = 8.0 / math.pi**2 * math.exp(-(math.pi**2) * factor / 4.0)
    assert float(slab_remaining(np.array(factor))) == pytest.approx(first, rel=0.01)


@pytest.mark.parametrize("faces", ["six", "five"])
def test_the_brick_against_finite_differences(faces: str) -> None:
    """The product of slabs agrees with a 3-D finite-volume solution to half a point of percent."""
    counts, sides = (14, 14, 14), (0.045, 0.030, 0.025 if faces == "five" else 0.0125)
    # Cells thinner towards the drying face, where the water falls steeply.
    edges = [
        side * (1.0 - (1.0 - np.linspace(0, 1, n + 1)) ** 2)
        for side, n in zip(sides, counts, strict=True)
    ]
    diffusivity, seconds = 3.5e-11, np.array([3.0, 7.0, 21.0]) * 86400.0

    def change(_: float, flat: np.ndarray) -> np.ndarray:
        # One eighth (or fourth) of the bar: mirrors at the low ends, end moisture 0 at the high.
        field = flat.reshape(counts)
        rate = np.zeros_like(field)
        for axis, edge in enumerate(edges):
            inside = np.moveaxis(field, axis, -1)
            middle = (edge[1:] + edge[:-1]) / 2.0
            flow = np.diff(inside) / np.diff(middle)
            skin = -inside[..., -1:] / (edge[-1] - middle[-1])
            flux = np.concatenate([np.zeros_like(skin), flow, skin], axis=-1)
            rate += np.moveaxis(np.diff(flux) / np.diff(edge), -1, axis)
        return diffusivity * rate.ravel()

    solved = solve_ivp(
        change,
        (0.0, seconds[-1]),
        np.ones(math.prod(counts)),
        t_eval=seconds,
        method="BDF",
        rtol=1e-5,
        atol=1e-7,
        jac_sparsity=_neighbours(counts),
    )
    sizes = np.einsum("a,b,c->abc", *(np.diff(edge) for edge in edges)).ravel()
    theirs = (solved.y * sizes[:, None]).sum(axis=0) / sizes.sum()
    ours = remaining(BRICK, diffusivity * seconds, faces)  # type: ignore[arg-type]
    assert ours == pytest.approx(theirs, abs=0.005)


def _neighbours(counts: tuple[int, int, int]) -> object:
    from scipy.sparse import eye, kron

    def chain(n: int) -> object:
        return eye(n) + eye(n, k=1) + eye(n, k=-1)

    a, b, c = counts
    return (
        kron(kron(chain(a), eye(b)), eye(c))
        + kron(kron(eye(a), chain(b)), eye(c))
        + kron(kron(eye(a), eye(b)), chain(c))
    )
