"""The ingredient declaration: order, conventions, groups, merging, allergens."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.chemistry.composition import Composition, Part
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.labelling.declaration import Declaration, declare
from soapstock.labelling.law import find_rule, markets
from soapstock.recipes.pour import ActualMasses, composition_of
from soapstock.recipes.recipe import Recipe, parse_recipe

RECIPE = """
code = "DRF"
name = "Driftwood"
superfat_percent = 5
water = "2 per lye"
[[fats]]
fat = "beef-tallow"
share_percent = 60
[[fats]]
fat = "coconut"
share_percent = 25
[[fats]]
fat = "olive"
share_percent = 15
[lye]
naoh_assay_percent = 98
"""
AUTUMN = date(2026, 11, 25)


def recipe(extra: str = "") -> Recipe:
    """The recipe, with more TOML at its end."""
    return parse_recipe(RECIPE + extra, "DRF.toml")


def fat(key: str, mass_g: float, sv: float = 197.0) -> FatPortion:
    """A portion of fat."""
    return FatPortion(fat=key, mass_g=mass_g, sv=Interval.exact(sv))


def masses(*additions: Part, naoh_g: float = 142.0) -> ActualMasses:
    """A kilogram of fat as poured."""
    fats = (fat("beef-tallow", 600), fat("coconut", 250, 256), fat("olive", 150, 190))
    return ActualMasses(fats=fats, naoh_g=naoh_g, koh_g=0, water_g=285, additions=additions)


def bar_at_pack(actual: ActualMasses, by: Recipe) -> Composition:
    """The bar with two fifths of its water left."""
    pour = composition_of(by, actual)
    return pour.with_water(pour.water_g * 0.4)


def declared(
    market: str, *additions: Part, extra: str = "", on: date | None = AUTUMN, **how: str
) -> Declaration:
    """The declaration of that batch."""
    by, actual = recipe(extra), masses(*additions)
    return declare(actual, bar_at_pack(actual, by), by, market=market, on=on, **how)  # type: ignore[arg-type]


def test_true_soap_lists_what_was_poured_in_plain_english_by_weight() -> None:
    """The United States default: fats, water and lye as weighed, heaviest first."""
    assert declared("us-soap").text == (
        "Ingredients: Beef tallow, Water, Coconut oil, Olive oil, Sodium hydroxide"
    )


def test_the_eu_lists_what_is_in_the_bar_by_inci() -> None:
    """The EU default: soaps, glycerin, fat left over, and the water poured (Art. 19(1)(g))."""
    found = declared("eu")
    assert found.convention == "finished"
    assert found.text.startswith(
        "Ingredients: Sodium Tallowate, Aqua, Sodium Cocoate, Sodium Olivate, Glycerin, "
    )
    assert "Sodium Hydroxide" not in found.text


def test_canada_s_list_is_headed_in_both_languages() -> None:
    """Whichever of the two is asked for."""
    for language in ("en", "fr"):
        text = declared("ca", language=language).text
        assert text.startswith("Ingredients / Ingrédients: Sodium Tallowate, Aqua")


def test_masses_of_a_finished_list_are_the_pour_s() -> None:
    """Listed masses sum to the pot, but for the lye's inert rest that no label lists."""
    by, actual = recipe(), masses()
    found = declare(actual, bar_at_pack(actual, by), by, market="eu", on=AUTUMN)
    pour = composition_of(by, actual)
    made_g = pour.water_g - actual.water_g  # water that the fats' free acids made: not added
    assert sum(line.mass_g for line in found.lines) == pytest.approx(
        pour.total_g - pour.inert_g - made_g
    )


@given(st.floats(min_value=0.0, max_value=1.0), st.floats(min_value=0.5, max_value=25.0))
@pytest.mark.parametrize("market", markets())
def test_a_lot_has_one_list_whatever_has_dried_off(market: str, left: float, oil_g: float) -> None:
    """Regulation (EC) No 1223/2009 Art. 19(1)(g): by weight when added to the product.

    The list of the day of the pour and the one after any time on the rack are one list, in both
    conventions; so are the allergens, counted on the dry bar, the strongest it can be.
    """
    by = recipe()
    actual = masses(Part(key="lavender-oil", mass_g=oil_g), Part(key="goat-milk", mass_g=60.0))
    pour = composition_of(by, actual)
    for convention in ("poured", "finished"):
        fresh, later = (
            declare(actual, bar, by, market=market, convention=convention, on=AUTUMN)
            for bar in (pour, pour.with_water(pour.water_g * left))
        )
        assert fresh.text == later.text
        assert fresh.notes == later.notes


def test_two_lots_of_one_fat_become_one_line() -> None:
    """Hidden lots are merged: the label names the ingredient once, with the whole mass."""
    by = recipe()
    actual = ActualMasses(
        fats=(fat("coconut", 300), fat("beef-tallow", 500), fat("coconut", 300)),
        naoh_g=150,
        koh_g=0,
        water_g=300,
    )
    found = declare(actual, bar_at_pack(actual, by), by, market="us-soap", on=AUTUMN)
    assert found.lines[0].name == "Coconut oil"
    assert found.lines[0].mass_g == 600


def test_mutton_and_beef_tallow_print_one_inci_name() -> None:
    """Two fats with one glossary name are one line in an INCI list."""
    by = recipe()
    actual = ActualMasses(
        fats=(fat("beef-tallow", 500), fat("mutton-tallow", 500)), naoh_g=130, koh_g=0, water_g=260
    )
    found = declare(actual, bar_at_pack(actual, by), by, market="eu", on=AUTUMN)
    assert [line.name for line in found.lines].count("Sodium Tallowate") == 1


def test_a_colour_added_by_eye_stands_last() -> None:
    """An unmeasured colour has no place by weight, so it ends the list."""
    extra = (
        '[[additions]]\ningredient = "nettle"\nstage = "trace"\nunmeasured = true\n'
        'to_shade = "pale green"\ncolour = true\n'
    )
    found = declared("us-soap", extra=extra)
    assert found.lines[-1].name == "Nettle leaf"
    assert found.lines[-1].group == "colour"
    assert any("not weighed" in note for note in found.notes)


def test_a_weighed_colour_stands_last_too_by_its_ci_number_in_the_eu() -> None:
    """Colourants come after all others, whatever they weigh."""
    found = declared("eu", Part(key="titanium-dioxide", mass_g=60.0))
    assert found.lines[-1].name == "CI 77891"


def test_a_label_name_of_the_recipe_is_printed_as_given() -> None:
    """The maker's own name for an ingredient we do not know is taken."""
    by = recipe(
        '[[additions]]\ningredient = "saltmarsh-herb"\nstage = "trace"\npercent_of_fats = 1\n'
        'label_name = "Saltmarsh herb"\n'
    )
    actual = masses(Part(key="saltmarsh-herb", mass_g=9.0))
    found = declare(actual, bar_at_pack(actual, by), by, market="us-soap", on=AUTUMN)
    assert found.lines[-1].name == "Saltmarsh herb"


def test_an_unknown_addition_is_refused() -> None:
    """No name is invented for an ingredient."""
    with pytest.raises(NotFound, match="saltmarsh-herb"):
        declared("us-soap", Part(key="saltmarsh-herb", mass_g=9.0))


def small_names(market: str, kaolin_share: float) -> list[str]:
    """Names in the free group of a list in which kaolin has exactly this share, %."""
    base = masses()
    total = sum(p.mass_g for p in base.fats) + base.naoh_g + base.water_g
    kaolin_g = total * kaolin_share / (100.0 - kaolin_share)
    convention = "poured"
    found = declared(market, Part(key="kaolin", mass_g=kaolin_g), convention=convention)
    return [line.name for line in found.lines if line.group == "small"]


@pytest.mark.parametrize(
    ("market", "share", "free"),
    [
        ("us-cosmetic", 0.99, True),
        ("us-cosmetic", 1.0, True),
        ("us-cosmetic", 1.01, False),
        ("ca", 0.99, True),
        ("ca", 1.0, True),
        ("ca", 1.01, False),
        ("eu", 0.99, True),
        ("eu", 1.0, False),
        ("eu", 1.01, False),
        ("uk", 0.99, True),
        ("uk", 1.0, False),
    ],
)
def test_one_percent_is_free_where_the_rule_says_not_exceeding(
    market: str, share: float, free: bool
) -> None:
    """21 CFR 701.3(f) and Canada free 1 % itself; the EU frees only what is under it."""
    assert ("Kaolin" in small_names(market, share)) is free


def test_scents_are_one_parfum_and_their_allergens_in_the_eu() -> None:
    """Essential oils print as Parfum, and each allergen over 0.01 % of the cured bar by name."""
    found = declared("eu", Part(key="lavender-oil", mass_g=15.0))
    names = [line.name for line in found.lines]
    assert "Parfum" in names
    assert [line.name for line in found.lines if line.allergen] == [
        "Lavandula Oil/Extract",
        "Linalyl Acetate",
        "Linalool",
        "Beta-Caryophyllene",
        "Terpineol",
        "Camphor",
        "Geranyl Acetate",
        "Limonene",
    ]


def test_scents_named_one_by_one_are_told_where_parfum_is_the_word() -> None:
    """Art. 19(1)(g): perfume and its raw materials are called parfum."""
    oil = Part(key="lavender-oil", mass_g=15.0)
    assert any("named one by one" in note for note in declared("eu", oil, scent="named").notes)
    assert not any("one by one" in note for note in declared("eu", oil).notes)
    assert not any("one by one" in note for note in declared("us-soap", oil).notes)


def test_only_the_old_names_are_due_the_day_before_the_new_rule() -> None:
    """Goods placed on 31 July 2026 may follow the old list; the note says what comes."""
    lavender = Part(key="lavender-oil", mass_g=15.0)
    before = declared("eu", lavender, on=date(2026, 7, 31))
    after = declared("eu", lavender, on=date(2026, 8, 1))
    assert [line.name for line in before.lines if line.allergen] == ["Linalool", "Limonene"]
    assert len([line for line in after.lines if line.allergen]) == 8
    assert any("2026-08-01" in note and "2028-07-31" in note for note in before.notes)


def test_true_soap_names_its_essential_oils() -> None:
    """A plain list says which oil, and owes no allergen names."""
    found = declared("us-soap", Part(key="lavender-oil", mass_g=15.0))
    assert found.lines[-1].name == "Lavender essential oil"
    assert not any(line.allergen for line in found.lines)


def test_a_scent_of_unknown_make_is_refused_where_allergens_are_due() -> None:
    """A bought fragrance without its supplier's figures cannot be declared in the EU."""
    with pytest.raises(RuleBroken, match="fragrance"):
        declared("eu", Part(key="fragrance", mass_g=15.0))


def test_inci_markets_refuse_plain_names() -> None:
    """An EU label with plain English names would break the law, so it is not made."""
    with pytest.raises(RuleBroken, match="plain"):
        declared("eu", style="plain")


def test_an_unknown_convention_is_refused() -> None:
    """There are two ways to list, and no third."""
    with pytest.raises(BadInput):
        declared("us-soap", convention="mixed")


def test_a_soap_with_no_listed_name_is_refused_as_finished_and_listed_as_poured() -> None:
    """The way out for rice bran oil is the poured convention, for the whole list."""
    by = recipe()
    actual = ActualMasses(fats=(fat("rice-bran", 1000, 188),), naoh_g=120, koh_g=0, water_g=240)
    bar = bar_at_pack(actual, by)
    with pytest.raises(NotFound):
        declare(actual, bar, by, market="eu", on=AUTUMN)
    poured = declare(actual, bar, by, market="eu", convention="poured", on=AUTUMN)
    assert "Oryza Sativa Bran Oil" in poured.text


MASS = st.floats(min_value=1.0, max_value=1000.0)


@given(MASS, MASS, MASS, st.floats(min_value=0.1, max_value=30.0))
def test_the_main_group_always_falls_in_weight(a: float, b: float, c: float, scent: float) -> None:
    """Whatever the masses, each main line weighs no more than the one before it."""
    by = recipe()
    actual = ActualMasses(
        fats=(fat("beef-tallow", a), fat("coconut", b, 256), fat("olive", c, 190)),
        naoh_g=0.13 * (a + b + c),
        koh_g=0,
        water_g=0.27 * (a + b + c),
        additions=(Part(key="lavender-oil", mass_g=scent),),
    )
    for market in ("us-soap", "us-cosmetic", "eu", "ca"):
        bar = bar_at_pack(actual, by)
        main = [
            line.mass_g
            for line in declare(actual, bar, by, market=market, on=AUTUMN).lines
            if line.group == "main"
        ]
        assert main == sorted(main, reverse=True)


@given(MASS, MASS, st.sampled_from(["poured", "finished"]))
def test_no_fat_is_listed_in_both_conventions(a: float, b: float, convention: str) -> None:
    """A poured list holds no soap; a finished list of a lean bar holds no lye."""
    by = recipe()
    actual = ActualMasses(
        fats=(fat("beef-tallow", a), fat("olive", b, 190)),
        naoh_g=0.12 * (a + b),
        koh_g=0,
        water_g=0.25 * (a + b),
    )
    text = declare(
        actual, bar_at_pack(actual, by), by, market="eu", convention=convention, on=AUTUMN
    ).text
    assert ("Sodium Hydroxide" in text) is (convention == "poured")
    assert ("Sodium Tallowate" in text) is (convention == "finished")


def test_the_eu_s_conditions_on_scents_are_told() -> None:
    """Purity of terpenes, and the limit and users of methyl salicylate."""
    notes = declared("eu", Part(key="tea-tree-oil", mass_g=5.0)).notes
    assert any("tea-tree-oil: peroxide value under 10 mmol/L" in note for note in notes)
    notes = declared("eu", Part(key="wintergreen-oil", mass_g=0.5)).notes
    assert any("children under 6" in note for note in notes)
    assert not any(
        "mmol" in note for note in declared("us-soap", Part(key="lemon-oil", mass_g=5.0)).notes
    )


def test_a_colour_without_an_index_number_is_told_in_the_eu() -> None:
    """Annex IV lists the colours that may be used; nettle is not among them."""
    nettle = Part(key="nettle", mass_g=5.0)
    assert any("Annex IV" in note for note in declared("eu", nettle).notes)
    assert not any("Annex IV" in note for note in declared("us-soap", nettle).notes)
    listed = declared("eu", Part(key="ultramarine", mass_g=5.0))
    assert not any("Annex IV" in note for note in listed.notes)


GREY = (
    '[[additions]]\ningredient = "charcoal"\nstage = "trace"\npercent_of_fats = 1\ncolour = true\n'
)


def test_charcoal_that_colours_has_its_number_in_the_eu() -> None:
    """Annex IV export of CosIng: CI 77268:1; among the colours, at the end."""
    grey = Part(key="charcoal", mass_g=10.0)
    coloured = declared("eu", grey, extra=GREY)
    assert (coloured.lines[-1].name, coloured.lines[-1].group) == ("CI 77268:1", "colour")
    assert not any("Annex IV" in note for note in coloured.notes)
    assert "Charcoal Powder" in declared("eu", grey).text


def test_charcoal_is_no_colour_in_a_us_cosmetic() -> None:
    """21 CFR 73 and 74, subpart C, list no charcoal: told first, whatever it is there for."""
    grey = Part(key="charcoal", mass_g=10.0)
    told = declared("us-cosmetic", grey, extra=GREY).notes[0]
    assert "Charcoal Powder" in told
    assert "may be used to colour" in told
    assert any("only for another purpose" in note for note in declared("us-cosmetic", grey).notes)
    assert not any("21 CFR" in note for note in declared("us-soap", grey, extra=GREY).notes)


@pytest.mark.parametrize("key", ["madder", "indigo", "spirulina", "turmeric", "nettle", "paprika"])
def test_a_plant_colour_is_told_in_a_us_cosmetic(key: str) -> None:
    """None of them is in 21 CFR 73 subpart C (turmeric and paprika only in subpart A, foods)."""
    assert any("21 CFR 73" in n for n in declared("us-cosmetic", Part(key=key, mass_g=5.0)).notes)


@pytest.mark.parametrize("key", ["mica", "titanium-dioxide", "ultramarine", "red-iron-oxide"])
def test_a_listed_colour_is_passed_over_in_a_us_cosmetic(key: str) -> None:
    """21 CFR 73.2496, 73.2575, 73.2725, 73.2250."""
    notes = declared("us-cosmetic", Part(key=key, mass_g=5.0)).notes
    assert not any("colour" in note for note in notes)


def test_mica_is_no_colour_by_number_in_the_eu() -> None:
    """CI 77019 is not in Annex IV: mica stands by its weight under its own name."""
    found = declared("eu", Part(key="mica", mass_g=20.0), Part(key="zinc-oxide", mass_g=30.0))
    names = [line.name for line in found.lines]
    assert names.index("Mica") < names.index("CI 77947")
    assert next(line for line in found.lines if line.name == "Mica").group == "main"


def test_a_fat_stands_beside_its_salt_only_for_what_no_lye_was_left_for() -> None:
    """What `rules eu` says (rule `convention`) is what the list does."""
    by = recipe()
    exact = ActualMasses(fats=(fat("beef-tallow", 1000, 197.0),), naoh_g=200, koh_g=0, water_g=400)
    heavy = declare(exact, composition_of(by, exact), by, market="eu", on=AUTUMN).text
    assert "Adeps Bovis" not in heavy
    assert "Adeps Bovis" in declared("eu").text
    convention = find_rule("eu", "convention", AUTUMN)
    assert convention is not None
    assert "beside its salt only for the part that no lye was left for" in convention.text


def test_allergens_the_uk_did_not_list_are_told() -> None:
    """Great Britain's list may have been widened since: the maker is told what would be on it."""
    notes = declared("uk", Part(key="lavender-oil", mass_g=15.0)).notes
    assert any("Linalyl Acetate" in note and "widened" in note for note in notes)
