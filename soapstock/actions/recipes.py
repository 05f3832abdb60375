"""Adding, listing and scaling recipes, and printing the batch sheet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soapstock.actions.desk import Desk, find_recipe, free_lot_code, parsed_recipe
from soapstock.errors import BadInput, RuleBroken

if TYPE_CHECKING:
    from soapstock.chemistry.interval import Interval
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import ScaledBatch, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedRecipe:
    """What came of adding a recipe file: its code, version, and whether it was new."""

    code: str
    name: str
    version: int
    new: bool
    scaled: ScaledBatch | None
    notes: tuple[str, ...] = ()


def add_recipe(desk: Desk, path: Path) -> AddedRecipe:
    """Add a recipe file, or its next version if the text changed; judge stated lye as written.

    Raises:
        BadInput, NotFound: the file is missing or wrong; says file and field.
    """
    from soapstock.recipes.scaling import scale
    from soapstock.shop import read_toml_file

    text, _ = read_toml_file(path, "recipe")
    recipe = parsed_recipe(text, str(path))
    scaled = scale(
        recipe,
        as_written(recipe),
        scale_step_g=desk.shop.scale_step_g,
        market=desk.shop.market,
    )
    with desk.ledger.read() as reader:
        before = {(r.code, r.version) for r in reader.recipes()}
    with desk.ledger.write() as writer:
        stored = writer.add_recipe(desk.stamp(), code=recipe.code, text=text)
    return AddedRecipe(
        code=stored.code,
        name=recipe.name,
        version=stored.version,
        new=(stored.code, stored.version) not in before,
        scaled=scaled,
    )


def as_written(recipe: Recipe) -> Target:
    """The target that scales a recipe to itself: its fats as written, or one kilogram of fat."""
    from soapstock.recipes.scaling import Target

    masses = [fat.mass_g for fat in recipe.fats if fat.mass_g is not None]
    total = sum(masses, Decimal(0)) if len(masses) == len(recipe.fats) else Decimal(1000)
    return Target(total_fat_g=total)


def list_recipes(desk: Desk) -> list[dict[str, Any]]:
    """One row a recipe: code, name, version, superfat, cure days, declared weight, fats."""
    with desk.ledger.read() as reader:
        stored = reader.recipes()
    rows = []
    for item in stored:
        recipe = parsed_recipe(item.text, f"recipe {item.code}")
        rows.append(
            {
                "code": recipe.code,
                "name": recipe.name,
                "version": item.version,
                "kind": "by rule" if recipe.as_written is None else "as written",
                "superfat_percent": recipe.superfat_percent,
                "cure_days": recipe.cure_days or desk.shop.default_cure_days,
                "declared_g": round(recipe.declared_weight_g, 1)
                if recipe.declared_weight_g
                else None,
                "fats": ", ".join(fat.fat for fat in recipe.fats),
            }
        )
    return rows


def recipe_text(desk: Desk, code: str, version: int | None) -> tuple[str, int]:
    """The stored text of a recipe and its version."""
    with desk.ledger.read() as reader:
        find_recipe(reader, code, version)
        stored = reader.recipe(code.strip().upper(), version)
    return stored.text, stored.version


def lot_saponification(desk: Desk, recipe: Recipe) -> dict[str, Interval]:
    """Saponification values known better than the table: certificates of the lots used next.

    Only when every lot in store of a fat carries a certificate is its own interval used, as the
    span of them; otherwise the table's interval stands.
    """
    from soapstock.chemistry.interval import Interval

    known: dict[str, Interval] = {}
    with desk.ledger.read() as reader:
        lots = [lot for lot in reader.ingredient_lots() if lot.left_mg > 0]
    for fat in {f.fat for f in recipe.fats}:
        mine = [lot for lot in lots if lot.ingredient == fat]
        spans = [(lot.sv_low, lot.sv_nominal, lot.sv_high) for lot in mine]
        sure = [(a, b, c) for a, b, c in spans if a is not None and b is not None and c is not None]
        if mine and len(sure) == len(mine):
            known[fat] = Interval(
                low=min(s[0] for s in sure),
                nominal=sum(s[1] for s in sure) / len(sure),
                high=max(s[2] for s in sure),
            )
    return known


def scale_recipe(
    desk: Desk, code: str, target: Target, *, version: int | None = None, start_c: float = 20.0
) -> tuple[Recipe, int, ScaledBatch]:
    """Scale a stored recipe to a target, with the certificates of the lots in store."""
    from soapstock.recipes.scaling import scale

    with desk.ledger.read() as reader:
        recipe, found = find_recipe(reader, code, version)
    scaled = scale(
        recipe,
        target,
        scale_step_g=desk.shop.scale_step_g,
        sv=lot_saponification(desk, recipe),
        start_c=start_c,
        market=desk.shop.market,
    )
    return recipe, found, scaled


def scaled_record(scaled: ScaledBatch) -> dict[str, Any]:
    """The scaled batch as the stable JSON record of `recipe scale --json`."""
    return {
        "code": scaled.code,
        "name": scaled.name,
        "scale_factor": scaled.scale_factor,
        "fats": [
            {"ingredient": f.ingredient, "name": f.name, "mass_g": f.mass_g} for f in scaled.fats
        ],
        "naoh_g": scaled.naoh_g,
        "koh_g": scaled.koh_g,
        "water_g": scaled.water_g,
        "additions": [
            {"ingredient": a.ingredient, "stage": a.stage, "mass_g": a.mass_g, "note": a.note}
            for a in scaled.additions
        ],
        "lye_concentration_percent": scaled.lye_concentration_percent,
        "superfat_percent": scaled.superfat.as_dict(),
        "verdict": scaled.verdict.word,
        "reasons": list(scaled.verdict.reasons),
        "naoh_should_be_g": scaled.naoh_should_be_g,
        "koh_should_be_g": scaled.koh_should_be_g,
        "lye_peak_c": scaled.peak.peak_c if scaled.peak else None,
        "batch_mass_g": scaled.batch_mass_g,
        "bars": scaled.bars,
        "wet_bar_g": scaled.wet_bar_g,
        "notes": list(scaled.notes),
        "cautions": list(cautions_of(scaled)),
    }


def cautions_of(scaled: ScaledBatch) -> tuple[str, ...]:
    """The cautions that stand wherever this batch's lye weight is shown."""
    from soapstock.chemistry.cautions import lye_cautions

    return lye_cautions(scaled.peak.peak_c if scaled.peak else None)


def next_lot_code(desk: Desk, product: str, day: date) -> str:
    """The lot code the next pour (or receipt) of that product and day will have."""
    with desk.ledger.read() as reader:
        return free_lot_code(reader, product, day)


def print_batch_sheet(
    desk: Desk, recipe: Recipe, version: int, scaled: ScaledBatch, path: Path, day: date
) -> str:
    """Print the batch sheet of a planned pour; returns the lot code it is for.

    Raises:
        RuleBroken: the planned lye is refused; a sheet that burns skin is not printed.
    """
    from soapstock.chemistry.fats import get_fat
    from soapstock.codes.reading import qr_text
    from soapstock.render.paper.batch_sheet import BatchSheet, SheetLine, write_batch_sheet
    from soapstock.units import format_g

    if scaled.verdict.word == "refuse":
        raise RuleBroken(
            f"no batch sheet for {recipe.code}: {scaled.verdict.reasons[0]}",
            hint="mend the recipe's lye, then scale again",
        )
    lot = next_lot_code(desk, recipe.code, day)
    step = -int(desk.shop.scale_step_g.normalize().as_tuple().exponent)
    decimals = max(step, 0)
    lines = [
        SheetLine(
            group="fats",
            name=get_fat(f.ingredient).trade_name,
            mass_text=format_g(f.mass_g, decimals),
            stage="",
            note=f"{f.share_percent:.1f} % of fats",
        )
        for f in scaled.fats
    ]
    for name, mass in (
        ("Sodium hydroxide (NaOH)", scaled.naoh_g),
        ("Potassium hydroxide (KOH)", scaled.koh_g),
        ("Water", scaled.water_g),
    ):
        if mass:
            lines.append(
                SheetLine(
                    group="lye", name=name, mass_text=format_g(mass, decimals), stage="", note=""
                )
            )
    for a in scaled.additions:
        text = format_g(a.mass_g) if a.mass_g is not None else "to shade"
        lines.append(
            SheetLine(group="additions", name=a.name, mass_text=text, stage=a.stage, note=a.note)
        )
    write_batch_sheet(
        path,
        BatchSheet(
            shop_name=desk.shop.maker,
            recipe_name=recipe.name,
            recipe_code=recipe.code,
            recipe_version=version,
            lot_code=lot,
            qr_text=qr_text(lot, desk.shop.web or None, desk.shop.gtin_for(recipe.code)),
            planned_on=day,
            lines=tuple(lines),
            figures=figures_of(scaled),
            verdict=scaled.verdict.word,
            reasons=scaled.verdict.reasons,
            cautions=cautions_of(scaled),
            notes=recipe.notes,
            paper=desk.shop.paper,
        ),
    )
    return lot


def figures_of(scaled: ScaledBatch) -> tuple[tuple[str, str], ...]:
    """The figures of a scaled batch in words, for the sheet and the screen."""
    from soapstock.chemistry.lye import span_text
    from soapstock.units import format_g

    figures = [
        ("Lye concentration", f"{scaled.lye_concentration_percent:.1f} %"),
        ("Superfat", span_text(scaled.superfat)),
    ]
    if scaled.peak is not None:
        figures.append(
            (
                "Lye solution peak",
                f"about {scaled.peak.peak_c:.0f} °C from {scaled.peak.start_c:.0f} °C, "
                "if no heat is lost",
            )
        )
    else:
        figures.append(("Lye solution peak", "not known for this lye: expect near boiling"))
    figures.append(("Batch", format_g(scaled.batch_mass_g)))
    if scaled.bars:
        wet = f" of about {scaled.wet_bar_g:.0f} g wet" if scaled.wet_bar_g else ""
        figures.append(("Bars", f"about {scaled.bars}{wet}"))
    return tuple(figures)


def parse_have(text: str) -> tuple[str, Decimal]:
    """`tallow=1320g` as the ingredient and its grams. Raises BadInput."""
    from soapstock.units import parse_mass_g

    name, equals, mass = text.partition("=")
    if not equals or not name.strip():
        raise BadInput(f"--have '{text}' is not understood", hint="write it like tallow=1320g")
    return name.strip(), parse_mass_g(mass, f"--have {name.strip()}")


def make_target(
    *, have: str | None, fat: str | None, bars: int | None, volume: str | None
) -> Target:
    """The one target asked for. Raises BadInput if there is none or more than one."""
    from soapstock.recipes.scaling import Target
    from soapstock.units import parse_mass_g, parse_volume_ml

    given = [name for name, value in (("--have", have), ("--fat", fat), ("--bars", bars),
                                      ("--volume", volume)) if value is not None]  # fmt: skip
    if len(given) != 1:
        what = "nothing to scale to" if not given else f"{' and '.join(given)} together"
        raise BadInput(
            what, hint="give one of --have tallow=1320g, --fat 2kg, --bars 24, --volume 1800ml"
        )
    if bars is not None and not 1 <= bars <= 100_000:
        raise BadInput(f"--bars {bars} is not a count of bars", hint="give 1 or more")
    return Target(
        have=parse_have(have) if have is not None else None,
        total_fat_g=parse_mass_g(fat, "--fat") if fat is not None else None,
        bars=bars,
        mould_volume_ml=parse_volume_ml(volume, "--volume") if volume is not None else None,
    )
