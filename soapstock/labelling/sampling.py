"""Checking a net weight on a sample: NIST HB 133 Category A, and the EU and UK reference test.

Every intermediate figure stays in the result, so that the record can be worked through by hand.
Sources: NIST Handbook 133 (2026) s. 2.3 (procedure) and Table 2-1 (plans); S.I. 2006/659 Sch. 2 and
Directive 76/211/EEC Annex II. Plans in tables/law/tolerance.toml.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from soapstock.errors import BadInput
from soapstock.labelling.tolerance import Tolerance, mav_g, tne_g
from soapstock.tables import read_toml
from soapstock.units import several

TABLE = "law/tolerance.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hb133Result:
    """A Category A check with all its figures, g.

    Attributes:
        label_g: weight checked against (the larger of two declarations).
        errors_g: net less label of each bar, in the order drawn.
        unreasonable: how many are short by more than the MAV; `allowed` may be.
        deviation_g: sample standard deviation, None for one bar; sel_g: sample error limit.
        individual_passes, average_passes: the two requirements.
        used_sel: whether the average was negative and had to be judged by the SEL.
        allowance_g: moisture allowance that was granted, added to SEL and MAV; soap has none.
    """

    label_g: Decimal
    lot_size: int
    sample_size: int
    scf: Decimal | None
    mav: Tolerance
    allowed: int
    errors_g: tuple[Decimal, ...]
    total_g: Decimal
    average_g: Decimal
    deviation_g: Decimal | None
    sel_g: Decimal | None
    unreasonable: int
    individual_passes: bool
    average_passes: bool
    used_sel: bool
    allowance_g: Decimal
    citation: str
    confidence: str

    @property
    def passes(self) -> bool:
        """Whether the lot meets both requirements."""
        return self.individual_passes and self.average_passes


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceResult:
    """An EU or UK reference test with all its figures, g.

    Attributes:
        defective_below_g: contents under it are defective; inadequate_below_g likewise.
        accept: most defectives allowed in contents_sample bars.
        limit_g: least mean allowed; mean_sample bars are averaged.
        contents_pass, mean_passes, none_inadequate: the three findings.
    """

    nominal_g: Decimal
    batch_size: int
    tne: Tolerance
    defective_below_g: Decimal
    inadequate_below_g: Decimal
    contents_sample: int
    accept: int
    defective: int
    inadequate: int
    mean_sample: int
    mean_g: Decimal
    deviation_g: Decimal | None
    factor: Decimal | None
    limit_g: Decimal
    contents_pass: bool
    mean_passes: bool
    none_inadequate: bool
    citation: str
    confidence: str

    @property
    def passes(self) -> bool:
        """Whether the batch passes both checks and holds no inadequate bar."""
        return self.contents_pass and self.mean_passes and self.none_inadequate


def _mean(values: Sequence[Decimal]) -> Decimal:
    return sum(values, Decimal(0)) / len(values)


def _deviation(values: Sequence[Decimal]) -> Decimal | None:
    """Sample standard deviation, divisor n - 1; None for a single value."""
    if len(values) < 2:  # noqa: PLR2004  one value has no spread
        return None
    mean = _mean(values)
    return (sum(((v - mean) ** 2 for v in values), Decimal(0)) / (len(values) - 1)).sqrt()


def plan_row(rows: Sequence[dict[str, Any]], size: int) -> dict[str, Any]:
    """The row of a plan table that holds for a lot or batch size."""
    return next(row for row in rows if "up_to" not in row or size <= row["up_to"])


def hb133_plan(lot_size: int) -> tuple[int, Decimal | None, int]:
    """Sample size, sample correction factor and packages allowed over the MAV, for a lot size.

    Raises:
        BadInput: lot size under 1.
    """
    if lot_size < 1:
        raise BadInput(f"lot size {lot_size} is not one or more")
    row = plan_row(read_toml(TABLE)["hb133"]["plans"], lot_size)
    scf = Decimal(row["scf"]) if "scf" in row else None
    return row["sample"], scf, row["allowed"]


def _refuse_other_size(given: int, wanted: int, lot_size: int) -> None:
    if given != wanted:
        raise BadInput(
            f"a lot of {lot_size} wants {several(wanted, 'bar')} weighed; {given} were given",
            hint=f"draw {several(wanted, 'bar')} at random from the whole lot",
        )


def moisture_allowance_g(label_g: Decimal, percent: Decimal) -> Decimal:
    """A moisture allowance in grams (HB 133 s. 2.3.8): percent of the labelled weight."""
    return label_g * percent / 100


def check_hb133(
    nets_g: Sequence[Decimal],
    label_g: Decimal,
    lot_size: int,
    *,
    allowance_percent: Decimal = Decimal(0),
) -> Hb133Result:
    """Check a lot by NIST Handbook 133, Category A.

    Individual requirement: no more bars than allowed short by MORE than the MAV. Average
    requirement: the average error is not negative, or smaller than the sample error limit
    SEL = s x SCF. The text does not address exact equality with the SEL: we fail it.

    Args:
        nets_g: net weights of the sample, g (gross less tare).
        label_g: labelled weight, g; of two declarations the larger.
        lot_size: bars in the lot.
        allowance_percent: moisture allowance an inspector granted, % of the label; HB 133 names
            none for soap. It widens SEL and MAV after the test, never the weights themselves.

    Raises:
        BadInput: lot size, label or weights not above zero, or another sample size than the plan's.
    """
    sample_size, scf, allowed = hb133_plan(lot_size)
    _refuse_other_size(len(nets_g), sample_size, lot_size)
    refuse_weights(nets_g)
    mav = mav_g(label_g)
    allowance = moisture_allowance_g(label_g, allowance_percent)
    errors = tuple(net - label_g for net in nets_g)
    average, deviation = _mean(errors), _deviation(errors)
    sel = None if deviation is None or scf is None else deviation * scf
    unreasonable = sum(-error > mav.g + allowance for error in errors)
    if average >= 0 or sel is None:  # one bar alone: only the MAV applies (Table 2-1)
        average_passes = True
    else:
        average_passes = -average < sel + allowance
    table = read_toml(TABLE)["hb133"]
    return Hb133Result(
        label_g=label_g,
        lot_size=lot_size,
        sample_size=sample_size,
        scf=scf,
        mav=mav,
        allowed=allowed,
        errors_g=errors,
        total_g=sum(errors, Decimal(0)),
        average_g=average,
        deviation_g=deviation,
        sel_g=sel,
        unreasonable=unreasonable,
        individual_passes=unreasonable <= allowed,
        average_passes=average_passes,
        used_sel=average < 0 and sel is not None,
        allowance_g=allowance,
        citation=table["citation"],
        confidence=table["confidence"],
    )


def largest_division_g(label_g: Decimal) -> Decimal:
    """Largest scale division, g, that HB 133 s. 2.2 takes for that label: a sixth of the MAV."""
    return mav_g(label_g).g / int(read_toml(TABLE)["hb133"]["max_division_of_mav"])


def refuse_weights(nets_g: Sequence[Decimal]) -> None:
    """Raises BadInput naming the first bar whose net weight is not above zero."""
    for index, net in enumerate(nets_g, 1):
        if not net.is_finite() or net <= 0:
            raise BadInput(f"bar {index}: net weight {net} g is not above zero")


def reference_plan(batch_size: int) -> tuple[int, int, int, Decimal | None]:
    """Contents sample, defectives allowed, mean sample and mean factor, for a batch size.

    Batches under 100 are weighed whole; up to 5 % defective are allowed and no factor is given.

    Raises:
        BadInput: batch under 1 or over 10 000.
    """
    table = read_toml(TABLE)["reference_test"]
    if not 1 <= batch_size <= table["max_batch"]:
        raise BadInput(
            f"batch size {batch_size} is not 1 to {table['max_batch']}",
            hint="a larger batch is tested in parts",
        )
    if batch_size < table["small_batch_below"]:
        allowed = int(batch_size * Decimal(table["small_batch_defective_percent"]) / 100)
        return batch_size, allowed, batch_size, None
    contents, mean = plan_row(table["contents"], batch_size), plan_row(table["mean"], batch_size)
    return contents["sample"], contents["accept"], mean["sample"], Decimal(mean["factor"])


def mean_and_limit(
    averaged: Sequence[Decimal], nominal_g: Decimal, factor: Decimal | None
) -> tuple[Decimal, Decimal | None, Decimal]:
    """Mean, standard deviation and least mean allowed, g: nominal less factor times deviation."""
    mean, deviation = _mean(averaged), _deviation(averaged)
    if factor is None or deviation is None:
        return mean, deviation, nominal_g
    return mean, deviation, nominal_g - factor * deviation


def check_reference(
    nets_g: Sequence[Decimal], nominal_g: Decimal, batch_size: int, *, market: str
) -> ReferenceResult:
    """Check a batch by the EU and UK reference test, single plans, without opening packs.

    Contents: a bar short by MORE than one TNE is defective. Mean: at least nominal less factor
    times s, of the first bars drawn; for a batch under 100 at least nominal. A bar short by more
    than twice the TNE may not be sold, whatever the rest.

    Args:
        nets_g: net weights, g, in the order drawn.
        nominal_g: nominal quantity, g.
        batch_size: bars in the batch.
        market: whose upper bound of the system holds.

    Raises:
        BadInput: nominal quantity outside the system, weights not above zero, or another sample
            size than the plan's.
    """
    sample, accept, mean_sample, factor = reference_plan(batch_size)
    _refuse_other_size(len(nets_g), sample, batch_size)
    refuse_weights(nets_g)
    tne = tne_g(nominal_g, market)
    defective_below, inadequate_below = nominal_g - tne.g, nominal_g - 2 * tne.g
    defective = sum(net < defective_below for net in nets_g)
    inadequate = sum(net < inadequate_below for net in nets_g)
    mean, deviation, limit = mean_and_limit(nets_g[:mean_sample], nominal_g, factor)
    table = read_toml(TABLE)["reference_test"]
    return ReferenceResult(
        nominal_g=nominal_g,
        batch_size=batch_size,
        tne=tne,
        defective_below_g=defective_below,
        inadequate_below_g=inadequate_below,
        contents_sample=sample,
        accept=accept,
        defective=defective,
        inadequate=inadequate,
        mean_sample=mean_sample,
        mean_g=mean,
        deviation_g=deviation,
        factor=factor,
        limit_g=limit,
        contents_pass=defective <= accept,
        mean_passes=mean >= limit,
        none_inadequate=inadequate == 0,
        citation=table["citation"],
        confidence=table["confidence"],
    )
