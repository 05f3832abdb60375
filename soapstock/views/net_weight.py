"""Net weight of weighed bars checked by the market's method, and the record to print and keep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.errors import BadInput
from soapstock.exchange.text_file import read_text_file
from soapstock.exchange.weights_csv import parse_weights
from soapstock.labelling.law import get_market
from soapstock.labelling.netweight import enforced_g, net_weight
from soapstock.labelling.sampling import (
    check_hb133,
    check_reference,
    largest_division_g,
)
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.labelling.sampling import Hb133Result, ReferenceResult

METHODS = ("hb133", "reference")


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightCheck:
    """A net-weight check: its finding, every figure in order, and the result itself."""

    method: str
    market: str
    label: str
    passes: bool
    figures: Mapping[str, str]
    result: Hb133Result | ReferenceResult
    on: date


def check_net_weight(
    path: Path,
    declared_g: Decimal,
    lot_size: int,
    *,
    market: str,
    on: date,
    method: str | None = None,
    allowance_percent: Decimal = Decimal(0),
    step_g: Decimal | None = None,
) -> WeightCheck:
    """Check weighed bars of a CSV against a declared weight.

    Args:
        path: CSV with a column net_g, or gross_g and tare_g, in the order drawn.
        declared_g: the promise, g; the label's larger declaration is checked.
        lot_size: bars in the lot.
        market: gives the form of the label and the method.
        on: day of the check.
        method: one of METHODS; the market's own when None.
        allowance_percent: moisture allowance an inspector granted (hb133 only).
        step_g: the scale's step, g; too coarse a scale is told.

    Raises:
        NotFound, BadInput: the file, a figure or the sample size is wrong.
    """
    chosen = method or _method_of(market)
    _refuse_method(chosen, allowance_percent)
    nets = parse_weights(read_text_file(path, "file of weights"), str(path))
    weight = net_weight(declared_g, market, on)
    result: Hb133Result | ReferenceResult
    if chosen == "hb133":
        result = check_hb133(
            nets, enforced_g(weight), lot_size, allowance_percent=allowance_percent
        )
        figures = _hb133_figures(result, step_g)
    else:
        result = check_reference(nets, weight.g, lot_size, market=market)
        figures = _reference_figures(result)
    return WeightCheck(
        method=chosen,
        market=market,
        label=weight.text,
        passes=result.passes,
        figures=dict(figures),
        result=result,
        on=on,
    )


def _refuse_method(chosen: str, allowance_percent: Decimal) -> None:
    if chosen not in METHODS:
        raise BadInput(f"method '{chosen}' is unknown", hint=f"one of {', '.join(METHODS)}")
    if chosen != "hb133" and allowance_percent:
        raise BadInput("the reference test knows no moisture allowance", hint="leave it out")


def _method_of(market: str) -> str:

    method = get_market(market).sampling
    if method is None:
        raise BadInput(
            f"no sampling plan of market '{market}' is in our tables",
            hint=f"name the method: {' or '.join(METHODS)}",
        )
    return method


def _g(value: Decimal | None, places: int = 4) -> str:
    if value is None:
        return "none (one bar)"
    text = f"{value:.{places}f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} g"


def _word(passes: bool) -> str:
    return "passes" if passes else "FAILS"


def _hb133_figures(result: Hb133Result, step_g: Decimal | None) -> list[tuple[str, str]]:

    errors = "  ".join(f"{error:+.3f}" for error in result.errors_g)
    figures = [
        ("Lot size", several(result.lot_size, "bar")),
        ("Sample size", several(result.sample_size, "bar")),
        ("Weight checked (larger declaration)", _g(result.label_g)),
        ("MAV", f"{_g(result.mav.g)} ({result.mav.because}; {result.mav.confidence})"),
        ("Bars that may be short by more", str(result.allowed)),
        ("Errors, net less label, g", errors),
        ("Total error", _g(result.total_g)),
        ("Average error", _g(result.average_g)),
        ("Standard deviation s", _g(result.deviation_g, 6)),
        ("Sample correction factor", "none" if result.scf is None else f"{result.scf}"),
        ("Sample error limit SEL = s x factor", _g(result.sel_g, 6)),
    ]
    if result.allowance_g:
        figures.append(("Moisture allowance added to SEL and MAV", _g(result.allowance_g)))
    figures += [
        ("Bars short by more than the MAV", str(result.unreasonable)),
        ("Individual requirement", _word(result.individual_passes)),
        ("Average requirement", _average_words(result)),
        ("Rule", f"{result.citation} ({result.confidence})"),
    ]
    if step_g is not None:
        most = largest_division_g(result.label_g)
        fit = "fine enough" if step_g <= most else "TOO COARSE for this check"
        figures.append(("Scale step", f"{_g(step_g)}, at most {_g(most)}: {fit}"))
    return figures


def _average_words(result: Hb133Result) -> str:
    if result.average_g >= 0:
        return "passes: the average is not under the label"
    if not result.used_sel:
        return "not applied to one bar"
    way = "within" if result.average_passes else "not within"
    return f"{_word(result.average_passes)}: short on average, {way} the SEL"


def _reference_figures(result: ReferenceResult) -> list[tuple[str, str]]:
    contents = (
        f"{_word(result.contents_pass)}: {result.defective} defective, {result.accept} allowed"
    )
    return [
        *_limit_figures(result),
        ("Bars weighed", f"{result.contents_sample}"),
        ("Defective bars", f"{result.defective}, of which inadequate {result.inadequate}"),
        ("Contents", contents),
        *_mean_figures(result),
    ]


def _limit_figures(result: ReferenceResult) -> list[tuple[str, str]]:
    return [
        ("Batch size", several(result.batch_size, "bar")),
        ("Nominal quantity Qn", _g(result.nominal_g)),
        ("TNE", f"{_g(result.tne.g)} ({result.tne.because}; {result.tne.confidence})"),
        ("Defective below Qn - TNE", _g(result.defective_below_g)),
        ("Inadequate below Qn - 2 TNE", _g(result.inadequate_below_g)),
    ]


def _mean_figures(result: ReferenceResult) -> list[tuple[str, str]]:
    factor = "none: the whole batch is weighed" if result.factor is None else f"{result.factor}"
    mean = f"{_word(result.mean_passes)}: {_g(result.mean_g)} against {_g(result.limit_g)}"
    return [
        ("Bars averaged (first drawn)", f"{result.mean_sample}"),
        ("Mean", _g(result.mean_g)),
        ("Standard deviation s", _g(result.deviation_g, 6)),
        ("Factor", factor),
        ("Least mean allowed", _g(result.limit_g)),
        ("Mean check", mean),
        (
            "No bar short by more than twice TNE",
            "met" if result.none_inadequate else "NOT met: such a bar may not be sold",
        ),
        ("Rule", f"{result.citation} ({result.confidence})"),
    ]
