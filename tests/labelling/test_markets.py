"""Markets as data: no code names one, and a new one is TOML alone."""

import ast
import shutil
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from soapstock import tables
from soapstock.chemistry.composition import Part
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion
from soapstock.errors import BadTable, RuleBroken
from soapstock.labelling import law
from soapstock.labelling.advice import tolerance_for
from soapstock.labelling.allergens import allergens_in
from soapstock.labelling.declaration import declare
from soapstock.labelling.netweight import enforced_g, net_weight
from soapstock.labelling.type_size import net_weight_placement, type_rule
from soapstock.recipes.pour import ActualMasses, composition_of
from soapstock.recipes.recipe import parse_recipe
from soapstock.shop import load_shop

PACKAGE = Path(tables.__file__).parents[1]
STYLES = {"eu", "us", "plain"}  # ways to write a name; one is spelt like a market


def compared_texts(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and text of every text that something is compared with, or that is looked up in."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            parts: list[ast.AST] = [node.left, *node.comparators]
        elif (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr in ("startswith", "endswith")
        ):
            parts = [*node.args]
        else:
            continue
        about = ast.dump(node)
        for part in parts:
            for one in ast.walk(part):
                if isinstance(one, ast.Constant) and isinstance(one.value, str):
                    if one.value in STYLES and "'style'" in about:
                        continue
                    yield one.lineno, one.value


@pytest.mark.parametrize(
    "path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: str(p.relative_to(PACKAGE))
)
def test_no_code_asks_which_market_it_is(path: Path) -> None:
    """A market's own ways are settings of its record; nothing is compared with a market's key."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = [
        (line, text)
        for line, text in compared_texts(tree)
        if text in law.markets() or text in ("us-", "us")
    ]
    assert not found


def test_no_help_text_lists_the_markets() -> None:
    """Each list of them would have to be kept up by hand."""
    for path in (PACKAGE / "cli").rglob("*.py"):
        assert "us-cosmetic" not in path.read_text(encoding="utf-8"), path


def forget() -> None:
    """Forget every table read so far."""
    for cached in (
        tables.read_toml,
        tables.toml_names,
        law.get_market,
    ):
        cached.cache_clear()


@pytest.fixture
def islands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The tables with one more market, an invented one, made of TOML alone."""
    folder = tmp_path / "tables"
    shutil.copytree(tables.FOLDER, folder)
    text = (folder / "law/markets/eu.toml").read_text(encoding="utf-8")
    text = text.replace('sampling = "reference"', 'sampling = "hb133"')
    text = text.replace('tolerance = "tne"', 'tolerance = "mav"').replace("European Union", "Isles")
    (folder / "law/markets/isles.toml").write_text(text, encoding="utf-8")
    for name in ("law/type_height.toml", "law/symbols.toml", "limits/additions.toml"):
        kept = (folder / name).read_text(encoding="utf-8")
        kept = kept.replace('markets = ["eu"', 'markets = ["isles", "eu"')
        (folder / name).write_text(kept, encoding="utf-8")
    with (folder / "law/net_weight.toml").open("a", encoding="utf-8") as forms:
        forms.write(
            '\n[forms.isles]\nwords = ""\ndual = true\npounds_from_g = "453.592"\n'
            'pounds = "decimal"\nkg_from_g = "1000"\ncitation = "c"\nconfidence = "our own"\n'
        )
    monkeypatch.setattr(tables, "FOLDER", folder)
    forget()
    yield folder
    monkeypatch.undo()
    forget()


def test_an_invented_market_works_from_its_tables(islands: Path, tmp_path: Path) -> None:
    """Its list, weight, tolerance, type height and place, and the shop's own setting."""
    day = date(2026, 11, 25)
    assert "isles" in law.markets()
    by = parse_recipe(
        'code = "DRF"\nname = "D"\nsuperfat_percent = 5\nwater = "2 per lye"\n'
        '[[fats]]\nfat = "olive"\nshare_percent = 100\n',
        "r",
    )
    actual = ActualMasses(
        fats=(FatPortion(fat="olive", mass_g=1000, sv=Interval.exact(190)),),
        naoh_g=128,
        koh_g=0,
        water_g=256,
        additions=(Part(key="nettle", mass_g=3.0),),
    )
    made = declare(actual, composition_of(by, actual), by, market="isles", on=day)
    assert made.text.startswith("Ingredients: Sodium Olivate, Aqua")
    assert any("Annex IV" in note for note in made.notes)
    weight = net_weight(Decimal(113), "isles", day)
    assert weight.declares_both
    assert enforced_g(weight) == 113
    tolerance = tolerance_for(Decimal(113), "isles")
    assert tolerance is not None
    assert "Handbook 133" in tolerance.citation
    assert type_rule("isles", day, nominal_g=113).min_mm == 3.0
    assert not net_weight_placement("isles", day, 50.0).parallel_to_base
    assert allergens_in({"lavender-oil": 1.0}, 1000.0, market="isles", on=day)
    (tmp_path / "shop.toml").write_text('maker = "M"\nmarket = "isles"\n', encoding="utf-8")
    assert load_shop(tmp_path).market == "isles"


def test_a_market_without_a_form_of_its_weight_is_a_bad_table(islands: Path) -> None:
    """Forgetting the one table that every market needs is told, not a crash."""
    path = islands / "law/net_weight.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("\n[forms.isles]")], encoding="utf-8")
    forget()
    with pytest.raises(BadTable, match=r"\[forms\.isles\] is missing"):
        net_weight(Decimal(113), "isles")


def test_a_setting_that_is_none_of_its_choices_is_a_bad_table(islands: Path) -> None:
    """A misspelt method must not pass for none."""
    path = islands / "law/markets/isles.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('sampling = "hb133"', 'sampling = "hb-133"'), encoding="utf-8")
    forget()
    with pytest.raises(BadTable, match="sampling: 'hb-133' is not one of"):
        law.get_market("isles")


# Laws with a first day: the day before, on it, after it.
@pytest.mark.parametrize(
    ("market", "rule", "day"),
    [
        # MoCRA, Pub. L. 117-328 s. 3503 and 3508: one year after its enactment on 2022-12-29
        ("us-cosmetic", "adverse_events", date(2023, 12, 29)),
        ("us-cosmetic", "safety", date(2023, 12, 29)),
        ("us-cosmetic", "small_business", date(2023, 12, 29)),
        # 21 USC 364e(a): two years after it
        ("us-cosmetic", "contact", date(2024, 12, 29)),
        # Regulation (EU) 2017/2228, Annex III entry 306; the day from memory
        ("eu", "peanut", date(2018, 9, 25)),
        # S.I. 2025/413, Annex III entry 324
        ("uk", "methyl_salicylate", date(2025, 9, 30)),
    ],
)
def test_a_rule_starts_on_its_day(market: str, rule: str, day: date) -> None:
    """Not the day before, on the day, and after it."""
    before, after = date.fromordinal(day.toordinal() - 1), date.fromordinal(day.toordinal() + 1)
    assert law.find_rule(market, rule, before) is None
    assert law.find_rule(market, rule, day) is not None
    assert law.find_rule(market, rule, after) is not None


@pytest.mark.parametrize(("market", "day"), [("eu", date(2022, 12, 17)), ("uk", date(2025, 9, 30))])
def test_methyl_salicylate_is_limited_from_its_day(market: str, day: date) -> None:
    """Annex III entry 324: Regulation (EU) 2022/1531; in Great Britain S.I. 2025/413."""
    bar = {"wintergreen-oil": 1.0}  # 0.1 % of a kilogram
    assert allergens_in(bar, 1000.0, market=market, on=date.fromordinal(day.toordinal() - 1))
    for passed in (0, 1):
        with pytest.raises(RuleBroken, match=r"0\.06 %"):
            allergens_in(bar, 1000.0, market=market, on=date.fromordinal(day.toordinal() + passed))


@pytest.mark.parametrize(("market", "day"), [("eu", date(2022, 3, 1)), ("uk", date(2022, 10, 15))])
def test_butylphenyl_methylpropional_is_banned_from_its_day(market: str, day: date) -> None:
    """Regulation (EU) 2021/1902; in Great Britain S.I. 2022/659, later than its exit (memory)."""
    held = {"fragrance": {"Butylphenyl Methylpropional": Decimal(1)}}
    before = date.fromordinal(day.toordinal() - 1)
    allergens_in({"fragrance": 1.0}, 1000.0, market=market, on=before, certificates=held)
    for passed in (0, 1):
        later = date.fromordinal(day.toordinal() + passed)
        with pytest.raises(RuleBroken, match="banned"):
            allergens_in({"fragrance": 1.0}, 1000.0, market=market, on=later, certificates=held)
