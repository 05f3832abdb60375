"""Scaling a recipe."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput
from soapstock.recipes.recipe import Recipe, RecipeFat, parse_recipe
from soapstock.recipes.scaling import Target, scale
from soapstock.recipes.water import WaterRule

FINE = Decimal("0.001")


def test_the_fat_at_hand_stays_what_it_is(rule_text: str) -> None:
    """Scaling to 1320 g of tallow weighs 1320 g of tallow."""
    batch = scale(parse_recipe(rule_text, "r"), Target(have=("tallow", Decimal(1320))))
    assert batch.fats[0].mass_g == Decimal(1320)
    assert batch.fats[1].mass_g == Decimal(880)
    assert batch.verdict.word == "safe"


@pytest.mark.parametrize("key", ["kaolin", "naoh", "water", "olive"])
def test_any_weighed_ingredient_can_be_the_one_at_hand(rule_text: str, key: str) -> None:
    """Not only fats."""
    recipe = parse_recipe(rule_text, "r")
    whole = scale(recipe, Target(total_fat_g=Decimal(5000)), scale_step_g=FINE)
    have = {
        "kaolin": whole.additions[0].mass_g,
        "naoh": whole.naoh_g,
        "water": whole.water_g,
        "olive": whole.fats[1].mass_g,
    }[key]
    assert have is not None
    again = scale(recipe, Target(have=(key, have)), scale_step_g=FINE)
    assert float(again.batch_mass_g) == pytest.approx(float(whole.batch_mass_g), rel=1e-4)


def test_bars_and_their_mould_volume_are_the_same_batch(rule_text: str) -> None:
    """24 bars of 135 mL fill 3240 mL."""
    recipe = parse_recipe(rule_text, "r")
    by_bars = scale(recipe, Target(bars=24))
    by_volume = scale(recipe, Target(mould_volume_ml=Decimal(3240)))
    assert by_bars.bars == 24
    assert by_bars.batch_mass_g == by_volume.batch_mass_g


def test_the_count_of_bars_follows_the_wet_mass(rule_text: str) -> None:
    """Whole bars only."""
    batch = scale(parse_recipe(rule_text, "r"), Target(total_fat_g=Decimal(2000)))
    assert batch.wet_bar_g is not None
    assert batch.bars == int(batch.batch_mass_g // batch.wet_bar_g)


@pytest.mark.parametrize(
    "targets",
    [{}, {"bars": 2, "total_fat_g": Decimal(1)}, {"bars": 0}, {"have": ("olive", Decimal(-1))}],
)
def test_targets_are_exactly_one_and_above_zero(targets: dict[str, object]) -> None:
    """None, two, zero and negative are refused."""
    with pytest.raises(BadInput):
        Target(**targets)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("key", "says"), [("castor", "is not weighed in"), ("", "is not weighed in")]
)
def test_an_ingredient_not_in_the_recipe_is_refused(rule_text: str, key: str, says: str) -> None:
    """The hint lists what there is."""
    with pytest.raises(BadInput, match=says) as caught:
        scale(parse_recipe(rule_text, "r"), Target(have=(key, Decimal(100))))
    assert "olive" in caught.value.hint


def test_an_ambiguous_beginning_is_refused(rule_text: str) -> None:
    """Two tallows: which one?"""
    text = rule_text.replace('"olive"', '"mutton-tallow"')
    with pytest.raises(BadInput, match="several") as caught:
        scale(parse_recipe(text, "r"), Target(have=("tallow", Decimal(100))))
    assert "beef-tallow, mutton-tallow" in caught.value.hint


def test_bars_without_a_shape_are_refused(notebook_text: str) -> None:
    """A count says no mass."""
    with pytest.raises(BadInput, match="no bar size"):
        scale(parse_recipe(notebook_text, "m"), Target(bars=10))


def test_a_batch_too_small_for_the_scale_is_refused(rule_text: str) -> None:
    """Zero grams of a fat is no recipe."""
    with pytest.raises(BadInput, match="less than the scale's step"):
        scale(parse_recipe(rule_text, "r"), Target(total_fat_g=Decimal(1)))


def test_a_notebook_page_is_scaled_as_written_and_judged(notebook_text: str) -> None:
    """Lye by proportion, then the superfat those masses really give and what lye should be."""
    batch = scale(parse_recipe(notebook_text, "m"), Target(total_fat_g=Decimal(3000)))
    assert batch.scale_factor == pytest.approx(2.0)
    assert (batch.naoh_g, batch.water_g) == (Decimal(452), Decimal(904))
    assert batch.additions[0].mass_g == Decimal(40)
    assert batch.naoh_should_be_g is not None
    # at 98 %: (1800*196 + 1200*256.5)/1000 * 0.712888 * 0.95 / 0.98
    assert float(batch.naoh_should_be_g) == pytest.approx(456.5, abs=1.5)
    assert any("usual 5 % superfat" in note for note in batch.notes)


def test_a_lye_heavy_page_is_refused(notebook_text: str) -> None:
    """A notebook can be wrong."""
    text = notebook_text.replace('"226 g"', '"256 g"')
    batch = scale(parse_recipe(text, "m"), Target(total_fat_g=Decimal(1500)))
    assert batch.verdict.word == "refuse"
    assert batch.superfat.nominal < 0


def test_a_certificate_sv_changes_the_lye(rule_text: str) -> None:
    """A lot's own figure overrides the table."""
    recipe = parse_recipe(rule_text, "r")
    table = scale(recipe, Target(total_fat_g=Decimal(10000)))
    own = scale(
        recipe, Target(total_fat_g=Decimal(10000)), sv={"beef-tallow": Interval.exact(202.0)}
    )
    assert own.naoh_g > table.naoh_g
    assert own.superfat.low > table.superfat.low


def test_unmeasured_colours_stay_unmeasured(rule_text: str) -> None:
    """They have no mass and say their shade."""
    batch = scale(parse_recipe(rule_text, "r"), Target(total_fat_g=Decimal(1000)))
    assert batch.additions[1].mass_g is None
    assert "pale green" in batch.additions[1].note


def test_small_additions_are_not_rounded_away(rule_text: str) -> None:
    """0.4 g on a 1 g scale is asked on a finer one."""
    text = rule_text.replace("percent_of_fats = 1.0", "percent_of_fats = 0.04")
    line = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(1000))).additions[0]
    assert line.mass_g == Decimal("0.40")
    assert "finer scale" in line.note


def test_a_coarse_scale_for_the_lye_is_noted(rule_text: str) -> None:
    """Half a step of 5 g is 3 % of 84 g."""
    batch = scale(
        parse_recipe(rule_text, "r"), Target(total_fat_g=Decimal(600)), scale_step_g=Decimal(5)
    )
    assert any("finer scale" in note for note in batch.notes)


def test_an_unstated_assay_is_said(rule_text: str) -> None:
    """No silent default for lye."""
    text = rule_text.replace("naoh_assay_percent = 98", "")
    batch = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(1000)))
    assert any("assay not stated" in note for note in batch.notes)


def test_koh_has_no_peak_and_says_so(rule_text: str) -> None:
    """Dual lye: no table of its heat."""
    text = rule_text.replace("[lye]", "[lye]\nnaoh_share_percent = 60")
    batch = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(1000)))
    assert batch.peak is None
    assert batch.koh_g > 0
    assert any("peak temperature unknown" in note for note in batch.notes)


def test_lye_too_strong_to_dissolve_is_checked(rule_text: str) -> None:
    """55 % lye does not dissolve at 20 C."""
    text = rule_text.replace("2 per lye", "55 % solution")
    batch = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(1000)))
    assert batch.verdict.word == "check"
    assert any("dissolve" in reason for reason in batch.verdict.reasons)


shares = st.lists(st.integers(1, 50), min_size=2, max_size=4)


@given(
    shares=shares,
    superfat=st.floats(0.0, 20.0),
    ratio=st.floats(1.2, 3.0),
    fat_g=st.integers(500, 20000),
    times=st.integers(2, 9),
)
def test_scaling_is_linear(
    shares: list[int], superfat: float, ratio: float, fat_g: int, times: int
) -> None:
    """Scaling by k: k times the fat takes k times the lye and water, to the scale's step."""
    keys = ("beef-tallow", "olive", "coconut", "castor")
    fats = tuple(
        RecipeFat(fat=key, share_percent=100 * share / sum(shares))
        for key, share in zip(keys, shares, strict=False)
    )
    recipe = Recipe(
        code="AB",
        name="x",
        fats=fats,
        superfat_percent=superfat,
        water=WaterRule(kind="per_lye", value=ratio),
    )
    one = scale(recipe, Target(total_fat_g=Decimal(fat_g)), scale_step_g=FINE)
    many = scale(recipe, Target(total_fat_g=Decimal(fat_g * times)), scale_step_g=FINE)
    slack = 4 * times * float(FINE)
    assert float(many.naoh_g) == pytest.approx(times * float(one.naoh_g), abs=slack)
    assert float(many.water_g) == pytest.approx(times * float(one.water_g), abs=4 * slack)
    assert many.superfat.nominal == pytest.approx(superfat, abs=0.01)


def test_a_scale_step_of_nothing_is_refused(rule_text: str) -> None:
    """Every scale has a step."""
    with pytest.raises(BadInput, match="scale step"):
        scale(parse_recipe(rule_text, "r"), Target(bars=10), scale_step_g=Decimal(0))


def test_a_senseless_factor_is_refused(rule_text: str) -> None:
    """Ten thousand tonnes of tallow."""
    with pytest.raises(BadInput, match="no sensible pour"):
        scale(parse_recipe(rule_text, "r"), Target(total_fat_g=Decimal(10) ** 10))


MILK = """
[[additions]]
ingredient = "goat-milk"
stage = "lye"
percent_of_fats = 20
"""


def test_counted_milk_takes_the_place_of_water(rule_text: str) -> None:
    """200 g goat milk bring 174 g of the water that the rule asks (87 %, food tables, memory).

    Its 7.8 g of fat take 1 g of lye more, which asks 2 g of water.
    """
    plain = scale(parse_recipe(rule_text, "r"), Target(total_fat_g=Decimal(1000)))
    text = rule_text.replace("cure_days", "liquids_count = true\ncure_days") + MILK
    milky = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(1000)))
    assert milky.naoh_g - plain.naoh_g == Decimal(1)
    assert plain.water_g - milky.water_g == Decimal(174 - 2)
    assert milky.lye_concentration_percent == pytest.approx(
        plain.lye_concentration_percent, abs=0.1
    )


def test_milk_can_be_all_the_water(rule_text: str) -> None:
    """A rule that the milk just meets leaves no plain water."""
    text = rule_text.replace("cure_days", "liquids_count = true\ncure_days") + MILK
    text = text.replace("percent_of_fats = 20", "percent_of_fats = 31.3")
    batch = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(1000)))
    assert batch.water_g == 0
    assert batch.lye_concentration_percent == pytest.approx(33.3, abs=0.3)


@pytest.mark.parametrize(
    ("amount", "says"),
    [("percent_of_fats = 40", "more water than its rule"), ("percent_of_batch = 10", "no answer")],
)
def test_counted_liquids_that_do_not_fit_are_refused(
    rule_text: str, amount: str, says: str
) -> None:
    """Too much milk, or a share that runs in a circle."""
    text = rule_text.replace("cure_days", "liquids_count = true\ncure_days") + MILK
    text = text.replace("percent_of_fats = 20", amount)
    with pytest.raises(BadInput, match=says):
        scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(1000)))


def test_uncounted_milk_comes_on_top_of_the_water(rule_text: str) -> None:
    """Without liquids_count the rule's water stands."""
    plain = scale(parse_recipe(rule_text, "r"), Target(total_fat_g=Decimal(1000)))
    milky = scale(parse_recipe(rule_text + MILK, "r"), Target(total_fat_g=Decimal(1000)))
    assert milky.water_g - plain.water_g == 2 * (milky.naoh_g - plain.naoh_g)


def test_the_superfat_shown_holds_the_weighing_errors(rule_text: str) -> None:
    """600 g of fats on a 1 g scale: 1 g of 84 g NaOH is 1.1 points more than the ranges alone."""
    recipe = parse_recipe(rule_text, "r")
    coarse = scale(recipe, Target(total_fat_g=Decimal(600)))
    fine = scale(recipe, Target(total_fat_g=Decimal(600)), scale_step_g=FINE)
    assert fine.superfat.low - coarse.superfat.low > 1.0
    assert coarse.study is not None
    assert coarse.superfat == coarse.study.bounds


CITRIC = '\n[[additions]]\ningredient = "citric-acid"\nstage = "lye"\npercent_of_fats = 2\n'


@pytest.mark.parametrize(("extra", "more_g"), [(CITRIC, 12.1), (MILK, 1.2)])
def test_lye_by_rule_pays_for_acids_and_milk_fat(rule_text: str, extra: str, more_g: float) -> None:
    """5 % superfat of everything: 1 kg of fats with 20 g citric acid or 200 g goat milk.

    20 x 0.62453 x 0.95 / 0.98 = 12.11 g NaOH; 200 x 0.039 x 0.2215 x 0.712888 x 0.95 / 0.98 = 1.19.
    """
    plain = scale(
        parse_recipe(rule_text, "r"), Target(total_fat_g=Decimal(1000)), scale_step_g=FINE
    )
    with_it = scale(
        parse_recipe(rule_text + extra, "r"), Target(total_fat_g=Decimal(1000)), scale_step_g=FINE
    )
    assert float(with_it.naoh_g - plain.naoh_g) == pytest.approx(more_g, abs=0.02)
    assert with_it.superfat.nominal == pytest.approx(5.0, abs=0.01)


def test_acid_on_a_page_raises_its_superfat(notebook_text: str) -> None:
    """Stated lye stays; 20 g citric acid take 12.5 g of the 226 g."""
    page = parse_recipe(notebook_text, "m")
    sour = parse_recipe(notebook_text.replace('"sea-salt"', '"citric-acid"'), "m")
    plain, found = (scale(one, Target(total_fat_g=Decimal(1500))) for one in (page, sour))
    assert found.naoh_g == plain.naoh_g
    # 20 g x 0.62453 over (900 x 196 + 600 x 256.5) / 1000 x 0.712888 = 235.5 g, + 12.49 g
    assert found.superfat.nominal - plain.superfat.nominal == pytest.approx(4.76, abs=0.1)


def test_acid_by_share_of_the_batch_is_refused(rule_text: str) -> None:
    """The lye is part of the batch and follows the acid."""
    text = rule_text + CITRIC.replace("percent_of_fats", "percent_of_batch")
    with pytest.raises(BadInput, match="no answer"):
        scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(1000)))
