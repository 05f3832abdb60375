"""Reading a recipe."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.bars import Brick, Cup, Cylinder
from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.water import WaterRule


def test_a_recipe_by_rule_is_read_whole(rule_text: str) -> None:
    """Every field arrives."""
    recipe = parse_recipe(rule_text, "drf.toml")
    assert recipe.as_written is None
    assert recipe.water == WaterRule(kind="per_lye", value=2.0)
    assert [(fat.fat, fat.share_percent) for fat in recipe.fats] == [
        ("beef-tallow", 60.0),
        ("olive", 40.0),
    ]
    assert recipe.declared_weight_g == Decimal(113)
    assert recipe.bar == Brick(length_mm=90, width_mm=60, height_mm=25)
    assert recipe.identity == "Soap"
    assert recipe.lye.naoh_share == 1.0
    assert recipe.additions[1].basis == "unmeasured"
    assert recipe.additions[1].amount is None
    assert recipe.additions[1].colour


def test_a_notebook_page_is_read_whole(notebook_text: str) -> None:
    """Lye and water as the notebook has them."""
    recipe = parse_recipe(notebook_text, "mst.toml")
    assert recipe.as_written is not None
    assert (recipe.as_written.naoh_g, recipe.as_written.water_g) == (Decimal(226), Decimal(452))
    assert recipe.superfat_percent is None


def test_ounces_are_kept_exactly(notebook_text: str) -> None:
    """Units of the notebook are converted by the units room."""
    recipe = parse_recipe(notebook_text.replace('"900 g"', '"2 lb 1 oz"'), "m")
    assert recipe.fats[0].mass_g == Decimal("935.534263125")


def test_dual_lye_is_read(rule_text: str) -> None:
    """By share of the alkali equivalents."""
    text = rule_text.replace("[lye]", "[lye]\nnaoh_share_percent = 90\nkoh_assay_percent = 90")
    assert parse_recipe(text, "d").lye.naoh_share == 0.9


@pytest.mark.parametrize(
    ("sizes", "shape"),
    [
        (
            'shape = "cylinder"\ndiameter = "7 cm"\nheight = "1 in"',
            Cylinder(diameter_mm=70, height_mm=25.4),
        ),
        (
            'shape = "cup"\ntop_diameter = "70 mm"\nbottom_diameter = "60 mm"\nheight = "4 cm"',
            Cup(top_diameter_mm=70, bottom_diameter_mm=60, height_mm=40),
        ),
    ],
)
def test_round_bars_are_read(rule_text: str, sizes: str, shape: object) -> None:
    """Cylinders and cups too, in any length unit."""
    text = rule_text.split("[bar]", maxsplit=1)[0] + "[bar]\n" + sizes
    assert parse_recipe(text, "r").bar == shape


BAD_RULE = [
    ("share_percent = 60", "share_percent = 61", "fats: shares add to 101 %"),
    ('"olive"', '"oliv"', r"x\.toml:14: fats\[2\]\.fat: no fat 'oliv'"),
    ('"olive"', '"beef-tallow"', "stands twice"),
    ("superfat_percent = 5", "", "superfat_percent: is missing"),
    ("superfat_percent = 5", "superfat_percent = -1", r"x\.toml:3: superfat_percent: -1 is not"),
    ("superfat_percent = 5", "superfat_percent = 51", "not between"),
    ('"DRF"', '"Drf1"', r"x\.toml:1: code: 'Drf1'"),
    ('"DRF"', '"DRIFT"', "2 to 4 capital"),
    ('"113 g"', "113", "has no unit"),
    ('"113 g"', '"-113 g"', "negative"),
    ('"113 g"', '"113 stone"', "declared_weight"),
    ("2 per lye", "20 per lye", r"x\.toml:4: water: '20 per lye': 20 is not between"),
    ("2 per lye", "2 per lie", "water: '2 per lie' is no amount of water"),
    ('water = "2 per lye"', "water = 2", "water: is not a line in words"),
    ('water = "2 per lye"', "", "water: is missing"),
    ('shape = "brick"', 'water = "2 per lye"\nshape = "brick"', "bar.water: unknown field"),
    ("percent_of_fats = 1.0", "", r"additions\[1\]: none given"),
    ("percent_of_fats = 1.0", 'mass = "20 g"', "needs fats written in masses"),
    ("unmeasured = true", "unmeasured = false", "is false"),
    ('"kaolin"', '"Kaolin clay"', "not a plain key"),
    ('"kaolin"', '"castor"', "'castor' is a fat and takes lye"),
    ('"kaolin"', '"shea-butter"', "'shea-butter' is a fat and takes lye"),
    ('"kaolin"', '"beeswax-flakes"', "is a fat and takes lye"),
    ('"chlorophyll"', '"citric-acid"', "unmeasured: this ingredient takes lye"),
    ("share_percent = 60", 'mass = "60 g"', "some fats have shares"),
    ("share_percent = 60", "", "needs either mass or share_percent"),
    ("cure_days = 35", "cure_days = 3.5", "not a whole number"),
    ('shape = "brick"', 'shape = "heart"', "not one of brick"),
    ('length = "90 mm"', 'diameter = "90 mm"', "a brick has no diameter"),
    ('length = "90 mm"', 'length = "90 g"', r"bar\.length"),
    ('length = "90 mm"', 'length = "90 km"', r"bar\.length"),
    ("naoh_assay_percent = 98", "naoh_assay_percent = 9.8", r"lye\.naoh_assay_percent"),
    ("[lye]", '[lye]\nready_lye = "50 % NaOH"', "naoh_assay_percent: is for dry lye"),
    ("naoh_assay_percent = 98", "ready_lye = 50", "'50' is not a text"),
    ("naoh_assay_percent = 98", 'ready_lye = "50 %"', "no strength of ready lye"),
    ("naoh_assay_percent = 98", 'ready_lye = "60 % NaOH"', "not between 10 and 52"),
    ("naoh_assay_percent = 98", 'ready_lye = "51 to 49 % NaOH"', "not between 10 and 52"),
    ("[lye]", "[ley]", "did you mean|ley: unknown field"),
    ('name = "Driftwood"', "name = Driftwood", r"x\.toml:2: not valid TOML"),
]


@pytest.mark.parametrize(("old", "new", "says"), BAD_RULE)
def test_bad_recipes_are_refused_by_field(rule_text: str, old: str, new: str, says: str) -> None:
    """Each fault is one line that names file and field."""
    assert old in rule_text
    with pytest.raises(BadInput, match=says) as caught:
        parse_recipe(rule_text.replace(old, new, 1), "x.toml")
    assert caught.value.message.startswith("x.toml")
    assert "\n" not in caught.value.message


BAD_NOTEBOOK = [
    ('naoh = "226 g"', "", r"as_written\.naoh: is missing"),
    ('water = "452 g"', "", r"as_written\.water: is missing"),
    ('mass = "900 g"', "share_percent = 60", "lye as written needs masses"),
    ('name = "Notebook page"', 'name = "x"\nwater = "2 per lye"', "water is stated in"),
    ("[lye]", "[lye]\nnaoh_share_percent = 50", "stated as masses"),
]


@pytest.mark.parametrize(("old", "new", "says"), BAD_NOTEBOOK)
def test_bad_notebook_pages_are_refused_by_field(
    notebook_text: str, old: str, new: str, says: str
) -> None:
    """A page as written states masses and nothing else about lye and water."""
    assert old in notebook_text
    with pytest.raises(BadInput, match=says):
        parse_recipe(notebook_text.replace(old, new, 1), "x.toml")


def test_no_fats_is_refused() -> None:
    """A soap needs fat."""
    with pytest.raises(BadInput, match="no fat"):
        parse_recipe('code = "AB"\nname = "x"\n', "x.toml")


# Unicode Standard, general categories Cc, Cf and Zl: nothing of them is seen on a label.
@pytest.mark.parametrize(
    ("written", "named"),
    [
        ("Drift\\twood", "U+0009 (a control character)"),
        ("Drift\\nwood", "U+000A (a control character)"),
        ("Drift\\u200Bwood", "U+200B (ZERO WIDTH SPACE)"),
        ("Drift\\u00ADwood", "U+00AD (SOFT HYPHEN)"),
        ("Drift\\u202Ewood", "U+202E (RIGHT-TO-LEFT OVERRIDE)"),
        ("Drift\\u2028wood", "U+2028 (LINE SEPARATOR)"),
    ],
)
@pytest.mark.parametrize("key", ["name", "identity"])
def test_a_name_that_cannot_be_printed_is_refused(
    rule_text: str, key: str, written: str, named: str
) -> None:
    """By field and character, before a batch is poured under it."""
    lines = [one for one in rule_text.splitlines() if not one.startswith(f"{key} =")]
    text = "\n".join([f'{key} = "{written}"', *lines])
    with pytest.raises(BadInput, match=key) as caught:
        parse_recipe(text, "r.toml")
    assert named in caught.value.message
    assert "after 'Drift'" in caught.value.message


@pytest.mark.parametrize("name", ["Ryż i żyto", "Πέτρα", "Дрифт", "e\u0301té", "100 % (a) & <b>"])
def test_other_letters_are_names(rule_text: str, name: str) -> None:
    """Accents, composed or not, Greek and Cyrillic, and signs."""
    lines = [one for one in rule_text.splitlines() if not one.startswith("name =")]
    assert parse_recipe("\n".join([f'name = "{name}"', *lines]), "r").name == name


def test_a_recipe_may_say_its_method_and_temperatures(rule_text: str) -> None:
    """In Celsius or Fahrenheit; steps as lines; neither is required."""
    said = 'lye_at = "104 F"\nfats_at = "43 C"\nmethod = ["Melt.", "Blend."]\n'
    recipe = parse_recipe(said + rule_text, "r")
    assert recipe.lye_at_c == pytest.approx(40.0)
    assert (recipe.fats_at_c, recipe.method) == (43.0, ("Melt.", "Blend."))
    assert parse_recipe(rule_text, "r").method == ()


@pytest.mark.parametrize(
    "line",
    [
        'lye_at = "40"',
        'fats_at = "140 C"',
        'lye_at = "-5 C"',
        'method = "Melt."',
        'method = ["two\\nlines"]',
        'method = [""]',
        f'method = ["{"x" * 161}"]',
        f"method = {['step'] * 21}",
    ],
)
def test_a_wrong_method_or_temperature_is_refused_by_name(rule_text: str, line: str) -> None:
    """With file and field, in one line."""
    with pytest.raises(BadInput, match=line.partition(" ")[0]) as caught:
        parse_recipe(f"{line}\n{rule_text}", "r.toml")
    assert "\n" not in caught.value.message
