"""A scaled batch as figures, cautions and a record."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.chemistry.cautions import lye_cautions
from soapstock.chemistry.lye import span_text
from soapstock.units import mass_words, thermometer

if TYPE_CHECKING:
    from soapstock.chemistry.interval import Interval
    from soapstock.recipes.scaling import ScaledBatch


@dataclass(frozen=True, slots=True, kw_only=True)
class FatLineRow:
    """A fat to weigh, g."""

    ingredient: str
    name: str
    mass_g: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class AdditionRow:
    """An addition; its mass, g, is None when it is added to shade."""

    ingredient: str
    stage: str
    mass_g: Decimal | None
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaledRow:
    """A scaled batch as a record, with its cautions; masses in g."""

    code: str
    name: str
    scale_factor: float
    fats: tuple[FatLineRow, ...]
    naoh_g: Decimal
    koh_g: Decimal
    water_g: Decimal
    additions: tuple[AdditionRow, ...]
    lye_concentration_percent: float
    superfat_percent: Interval
    verdict: str
    reasons: tuple[str, ...]
    naoh_should_be_g: Decimal | None
    koh_should_be_g: Decimal | None
    lye_peak_c: float | None
    batch_mass_g: Decimal
    bars: int | None
    wet_bar_g: Decimal | None
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


def scaled_row(scaled: ScaledBatch) -> ScaledRow:
    """The record of a scaled batch."""
    return ScaledRow(
        code=scaled.code,
        name=scaled.name,
        scale_factor=scaled.scale_factor,
        fats=tuple(
            FatLineRow(ingredient=f.ingredient, name=f.name, mass_g=f.mass_g) for f in scaled.fats
        ),
        naoh_g=scaled.naoh_g,
        koh_g=scaled.koh_g,
        water_g=scaled.water_g,
        additions=tuple(
            AdditionRow(ingredient=a.ingredient, stage=a.stage, mass_g=a.mass_g, note=a.note)
            for a in scaled.additions
        ),
        lye_concentration_percent=scaled.lye_concentration_percent,
        superfat_percent=scaled.superfat,
        verdict=scaled.verdict.word,
        reasons=scaled.verdict.reasons,
        naoh_should_be_g=scaled.naoh_should_be_g,
        koh_should_be_g=scaled.koh_should_be_g,
        lye_peak_c=scaled.peak.peak_c if scaled.peak else None,
        batch_mass_g=scaled.batch_mass_g,
        bars=scaled.bars,
        wet_bar_g=scaled.wet_bar_g,
        notes=scaled.notes,
        cautions=cautions_of(scaled),
    )


def cautions_of(scaled: ScaledBatch) -> tuple[str, ...]:
    """The cautions that stand wherever this batch's lye weight is shown."""
    return lye_cautions(scaled.peak.peak_c if scaled.peak else None)


def figures_of(scaled: ScaledBatch) -> tuple[tuple[str, str], ...]:
    """The figures of a scaled batch in words, for the sheet and the screen."""
    figures = [
        ("Lye concentration", f"{scaled.lye_concentration_percent:.1f} %"),
        ("Superfat", span_text(scaled.superfat)),
    ]
    if scaled.peak is not None:
        (peak, _), (start, unit) = map(thermometer, (scaled.peak.peak_c, scaled.peak.start_c))
        text = f"about {peak:.0f} {unit} from {start:.0f} {unit}, if no heat is lost"
        figures.append(("Lye solution peak", text))
    else:
        figures.append(("Lye solution peak", "not known for this lye: expect near boiling"))
    figures.append(("Batch", mass_words(scaled.batch_mass_g)))
    if scaled.bars:
        wet = f" of about {scaled.wet_bar_g:.0f} g wet" if scaled.wet_bar_g else ""
        figures.append(("Bars", f"about {scaled.bars}{wet}"))
    return tuple(figures)
