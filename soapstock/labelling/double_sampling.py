"""The EU and UK reference test of contents by two samples, where the first may settle it alone.

Few defectives in the first sample accept the batch, many reject it; in between, a second sample of
the same size is drawn and the two are counted together. Mean and inadequate bars are judged as in
the single plan. Source: Directive 76/211/EEC Annex II, double plan without opening packs; the rows
(tables/law/tolerance.toml) are from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from soapstock.errors import BadInput
from soapstock.labelling.sampling import (
    TABLE,
    mean_and_limit,
    plan_row,
    reference_plan,
    refuse_weights,
)
from soapstock.labelling.tolerance import Tolerance, tne_g
from soapstock.tables import read_toml

Decision = Literal["accepted", "rejected", "second sample"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoublePlan:
    """Sizes and numbers of a double plan; accept and reject count defectives, both in all of them.

    Attributes:
        first, second: bars in each sample.
        first_accept, first_reject: after the first sample: so many or fewer accept, so many or
            more reject; what lies between asks for the second.
        both_accept, both_reject: the same of both samples together; one follows on the other.
    """

    first: int
    first_accept: int
    first_reject: int
    second: int
    both_accept: int
    both_reject: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubleResult:
    """A reference test by two samples with all its figures, g.

    Attributes:
        first_defective, second_defective, both_defective: bars under defective_below_g; None for
            samples that were not weighed.
        short_g: number in the order drawn, from 1, and weight of each defective bar.
        after_first: what the first sample alone decides; contents: what stands in the end.
        inadequate: bars under inadequate_below_g among all that were weighed.
        limit_g: least mean allowed; the first mean_sample bars drawn are averaged.
    """

    nominal_g: Decimal
    batch_size: int
    weighed: int
    plan: DoublePlan
    tne: Tolerance
    defective_below_g: Decimal
    inadequate_below_g: Decimal
    short_g: tuple[tuple[int, Decimal], ...]
    first_defective: int
    after_first: Decision
    second_defective: int | None
    both_defective: int | None
    contents: Decision
    inadequate: int
    mean_sample: int
    mean_g: Decimal
    deviation_g: Decimal | None
    factor: Decimal | None
    limit_g: Decimal
    mean_passes: bool
    none_inadequate: bool
    citation: str
    confidence: str

    @property
    def passes(self) -> bool:
        """Whether the batch is accepted, keeps the mean and holds no inadequate bar."""
        return self.contents == "accepted" and self.mean_passes and self.none_inadequate

    @property
    def undecided(self) -> bool:
        """Whether all hangs on the second sample, which is still to be weighed."""
        return self.contents == "second sample" and self.mean_passes and self.none_inadequate


def double_plan(batch_size: int) -> DoublePlan:
    """The double plan for a batch size.

    Raises:
        BadInput: batch over 10 000, or under 100: such a batch is weighed whole.
    """
    reference_plan(batch_size)  # refuses sizes outside the test
    table = read_toml(TABLE)
    if batch_size < table["reference_test"]["small_batch_below"]:
        raise BadInput(
            f"a batch of {batch_size} is weighed whole; there is no second sample to draw",
            hint="take --method reference",
        )
    row = plan_row(table["reference_double"]["plans"], batch_size)
    return DoublePlan(
        first=row["first"],
        first_accept=row["first_accept"],
        first_reject=row["first_reject"],
        second=row["second"],
        both_accept=row["both_accept"],
        both_reject=row["both_reject"],
    )


def _refuse_other_size(given: int, plan: DoublePlan, batch_size: int) -> None:
    if given not in (plan.first, plan.first + plan.second):
        raise BadInput(
            f"a batch of {batch_size} wants {plan.first} bars weighed, and {plan.second} more if"
            f" they do not settle it; {given} were given",
            hint="draw at random from the whole batch; first sample first",
        )


def _decide(defective: int, accept: int, reject: int) -> Decision:
    if defective <= accept:
        return "accepted"
    return "rejected" if defective >= reject else "second sample"


def check_double(
    nets_g: Sequence[Decimal], nominal_g: Decimal, batch_size: int, *, market: str = "eu"
) -> DoubleResult:
    """Check a batch by the EU and UK reference test, double plan, without opening packs.

    A second sample that was weighed though the first settled it is reported and does not count for
    the number of defectives; an inadequate bar in it counts all the same.

    Args:
        nets_g: net weights, g, in the order drawn: the first sample, or both.
        nominal_g: nominal quantity, g.
        batch_size: bars in the batch.
        market: `eu` or `uk`.

    Raises:
        BadInput: nominal quantity outside the system, weights not above zero, a batch under 100, or
            another number of bars than the plan's.
    """
    plan = double_plan(batch_size)
    _refuse_other_size(len(nets_g), plan, batch_size)
    refuse_weights(nets_g)
    tne = tne_g(nominal_g, market)
    below, far_below = nominal_g - tne.g, nominal_g - 2 * tne.g
    first = sum(net < below for net in nets_g[: plan.first])
    after_first = contents = _decide(first, plan.first_accept, plan.first_reject)
    second = both = None
    if len(nets_g) > plan.first:
        second = sum(net < below for net in nets_g[plan.first :])
        both = first + second
        if after_first == "second sample":
            contents = _decide(both, plan.both_accept, plan.both_reject)
    mean_sample, factor = reference_plan(batch_size)[2:]
    mean, deviation, limit = mean_and_limit(nets_g[:mean_sample], nominal_g, factor)
    inadequate = sum(net < far_below for net in nets_g)
    table = read_toml(TABLE)["reference_double"]
    return DoubleResult(
        nominal_g=nominal_g,
        batch_size=batch_size,
        weighed=len(nets_g),
        plan=plan,
        tne=tne,
        defective_below_g=below,
        inadequate_below_g=far_below,
        short_g=tuple((number, net) for number, net in enumerate(nets_g, 1) if net < below),
        first_defective=first,
        after_first=after_first,
        second_defective=second,
        both_defective=both,
        contents=contents,
        inadequate=inadequate,
        mean_sample=mean_sample,
        mean_g=mean,
        deviation_g=deviation,
        factor=factor,
        limit_g=limit,
        mean_passes=mean >= limit,
        none_inadequate=inadequate == 0,
        citation=table["citation"],
        confidence=table["confidence"],
    )
