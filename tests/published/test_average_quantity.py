"""The average-quantity system: TNE rows, digit heights and the reference test.

Sources: Directive 76/211/EEC Annexes I and II; UK S.I. 2006/659 Sch. 2 and official guidance.
"""

from decimal import Decimal

import pytest
from scipy.stats import t

from soapstock.labelling.sampling import check_reference, reference_plan
from soapstock.labelling.tolerance import tne_g

D = Decimal

# Directive 76/211/EEC Annex I 2.4 rows, both sides of every band edge; a percentage rounded UP to
# 0.1 g (UK official guidance). Values by hand from the READ rule.
TNE = [
    ("5", "0.5"),
    ("25", "2.3"),
    ("49.9", "4.5"),
    ("50", "4.5"),
    ("51", "4.5"),
    ("75", "4.5"),
    ("99", "4.5"),
    ("100", "4.5"),
    ("101", "4.6"),
    ("110", "5.0"),
    ("113", "5.1"),
    ("120", "5.4"),
    ("125", "5.7"),
    ("127", "5.8"),
    ("130", "5.9"),
    ("140", "6.3"),
    ("170", "7.7"),
    ("200", "9.0"),
    ("201", "9"),
    ("250", "9"),
    ("300", "9"),
    ("301", "9.1"),
    ("400", "12.0"),
    ("500", "15.0"),
    ("501", "15"),
    ("1000", "15"),
    ("1001", "15.1"),
    ("10000", "150.0"),
]


@pytest.mark.parametrize(("nominal", "tne"), TNE)
def test_each_tne_row(nominal: str, tne: str) -> None:
    """Directive 76/211/EEC Annex I 2.4."""
    assert tne_g(D(nominal), "eu").g == D(tne)


@pytest.mark.parametrize(
    ("nominal", "tne"), [("10001", "150"), ("15000", "150"), ("15001", "150.1")]
)
def test_the_uk_rows_above_ten_kilograms(nominal: str, tne: str) -> None:
    """S.I. 2006/659: 150 g up to 15 kg, 1 % above."""
    assert tne_g(D(nominal), "uk").g == D(tne)


@pytest.mark.parametrize(("nominal", "market"), [("4.9", "eu"), ("10001", "eu"), ("25001", "uk")])
def test_quantities_outside_the_system_are_refused(nominal: str, market: str) -> None:
    """5 g to 10 kg (Directive), to 25 kg (UK)."""
    from soapstock.errors import BadInput

    with pytest.raises(BadInput):
        tne_g(D(nominal), market)


# S.I. 2006/659 Sch. 2: batch size, contents sample, accept, mean sample, factor.
@pytest.mark.parametrize(
    ("batch", "plan"),
    [
        (100, (50, 3, 30, D("0.503"))),
        (500, (50, 3, 30, D("0.503"))),
        (501, (80, 5, 50, D("0.379"))),
        (3200, (80, 5, 50, D("0.379"))),
        (3201, (125, 7, 50, D("0.379"))),
        (10000, (125, 7, 50, D("0.379"))),
    ],
)
def test_each_reference_plan_on_both_sides(batch: int, plan: tuple[int, int, int, Decimal]) -> None:
    """S.I. 2006/659 Sch. 2, single plans without opening packs."""
    assert reference_plan(batch) == plan


@pytest.mark.parametrize(("n", "batch"), [(30, 500), (50, 501)])
def test_the_mean_factor_is_student_s_t_over_root_n(n: int, batch: int) -> None:
    """Directive 76/211/EEC Annex II: factor = t(0.995, n-1)/sqrt(n) (scipy), to three places."""
    factor = reference_plan(batch)[3]
    assert factor is not None
    assert float(factor) == pytest.approx(t.ppf(0.995, n - 1) / n**0.5, abs=0.0005)


def test_a_batch_under_a_hundred_is_weighed_whole_and_may_hold_five_percent() -> None:
    """S.I. 2006/659 Sch. 2: 24 bars of 120 g, one at 114.5 g (4.17 %): accepted."""
    result = check_reference([D("120.6")] * 23 + [D("114.5")], D(120), 24, market="eu")
    assert result.tne.g == D("5.4")
    assert result.defective == 1
    assert float(result.mean_g) == pytest.approx(120.3458, abs=5e-5)
    assert result.passes


def test_two_defectives_in_twenty_four_fail_though_the_mean_is_met() -> None:
    """8.33 % is over 5 %, while the mean 120.0917 g is not under 120 g."""
    result = check_reference([D("120.6")] * 22 + [D("114.5")] * 2, D(120), 24, market="eu")
    assert float(result.mean_g) == pytest.approx(120.0917, abs=5e-5)
    assert result.mean_passes
    assert not result.contents_pass


def test_ninety_nine_bars_are_small_and_a_hundred_are_sampled() -> None:
    """The plans begin at 100."""
    assert reference_plan(99) == (99, 4, 99, None)
    assert reference_plan(100)[0] == 50


def test_a_bar_short_by_exactly_tne_is_not_defective() -> None:
    """S.I. 2006/659 Sch. 2 para 3: less than the least acceptable contents is defective."""
    at = check_reference([D(121), D("114.6")], D(120), 2, market="eu")
    under = check_reference([D(121), D("114.5")], D(120), 2, market="eu")
    assert (at.defective, under.defective) == (0, 1)


def test_a_bar_short_by_more_than_twice_tne_is_inadequate() -> None:
    """100 g nominal at 90.9 g is short by 9.1 g, over 9.0 g; at 91.0 g it is not inadequate."""
    assert check_reference([D("90.9")], D(100), 1, market="eu").inadequate == 1
    assert check_reference([D("91.0")], D(100), 1, market="eu").inadequate == 0
