"""A recipe and how it is read from its TOML file.

A recipe is written in one of two ways: by rule (shares or masses of fats, a superfat, a line that
says how much water), or as a maker's notebook has it (`[as_written]`: masses of fats, lye and water
as they stand).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal, cast

from soapstock.chemistry.fats import fat_called, get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import default_assay
from soapstock.chemistry.takers import takes_lye
from soapstock.errors import BadInput, NotFound
from soapstock.recipes.bars import BarShape, Brick, Cup, Cylinder
from soapstock.recipes.ink import Ink, parse_ink
from soapstock.recipes.precautions import Precaution, read_precautions
from soapstock.recipes.solution import parse_ready_lye
from soapstock.recipes.water import WATER_HINT, WaterRule, parse_water
from soapstock.tables import read_toml
from soapstock.tables.fields import Fields, Source
from soapstock.units import parse_length_mm, parse_mass_g, parse_temperature_c

Stage = Literal["lye", "fats", "trace", "top"]
Basis = Literal["percent_of_fats", "percent_of_batch", "mass", "unmeasured"]

STAGES: tuple[str, ...] = ("lye", "fats", "trace", "top")
TOP_KEYS = (
    "code",
    "name",
    "identity",
    "superfat_percent",
    "cure_days",
    "declared_weight",
    "best_before_months",
    "notes",
    "method",
    "lye_at",
    "fats_at",
    "scent_line",
    "story",
    "ink",
    "precautions",
    "fats",
    "lye",
    "water",
    "liquids_count",
    "additions",
    "bar",
    "as_written",
)
SHARE_SLACK_PERCENT = 0.05
LIMIT_KEYS = ("limit_percent", "limit_source")
ALL_PERCENT = 100.0
_MOST_STEPS, _BOILING_C = 20, 100.0
MOST_SCENT = 60  # letters that a front has room for
MOST_STORY = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeFat:
    """One fat of a recipe, by share of the fats (%) or by mass (g)."""

    fat: str
    share_percent: float | None = None
    mass_g: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LyeSpec:
    """Which hydroxide, and how pure.

    Attributes:
        naoh_share: fraction 0-1 of the alkali by moles that is NaOH.
        naoh_assay_percent, koh_assay_percent: % hydroxide in the lye as weighed.
        naoh_assay_stated, koh_assay_stated: whether the recipe states it; if not, the whole range
            of the monograph counts.
        naoh_carbonate_percent: sodium carbonate that the paper counts inside the assay, if known.
        ready_percent: NaOH in the ready lye that is weighed instead of dry lye, % of its mass; None
            with dry lye. Masses of NaOH are then those of the NaOH inside it, and no other assay
            counts.
    """

    naoh_share: float = 1.0
    naoh_assay_percent: float = 98.0
    koh_assay_percent: float = 90.0
    naoh_assay_stated: bool = True
    koh_assay_stated: bool = True
    naoh_carbonate_percent: float | None = None
    ready_percent: Interval | None = None

    @property
    def naoh_assay(self) -> Interval:
        """Share of the NaOH as weighed that saponifies, %."""
        stated = self.naoh_assay_percent if self.naoh_assay_stated else None
        return default_assay("naoh", stated, self.naoh_carbonate_percent)

    @property
    def koh_assay(self) -> Interval:
        """Assay interval of the KOH, %."""
        return default_assay("koh", self.koh_assay_percent if self.koh_assay_stated else None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition:
    """Something besides fat, lye and water.

    Attributes:
        basis: what `amount` counts: % of fats, % of batch (fats, lye and water), or grams in a
            recipe by masses; None when unmeasured (a colour added to a shade).
        label_name: name for the label when the ingredient is not in our list.
        limit_percent: most that the supplier's certificate allows in the bar, %, with its
            `limit_source`.
    """

    ingredient: str
    stage: Stage = "trace"
    basis: Basis
    amount: Decimal | None = None
    colour: bool = False
    to_shade: str = ""
    label_name: str = ""
    limit_percent: float | None = None
    limit_source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AsWritten:
    """Lye and water as the notebook has them, g."""

    naoh_g: Decimal = Decimal(0)
    koh_g: Decimal = Decimal(0)
    water_g: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """A recipe as its file says; see the module for the two ways.

    Attributes:
        method: its steps in order, for the batch sheet.
        lye_at_c, fats_at_c: temperatures wanted when lye and fats meet, C.
    """

    code: str
    name: str
    identity: str = "Soap"
    fats: tuple[RecipeFat, ...]
    lye: LyeSpec = field(default_factory=LyeSpec)
    superfat_percent: float | None = None
    water: WaterRule | None = None
    additions: tuple[Addition, ...] = ()
    bar: BarShape | None = None
    cure_days: int | None = None
    declared_weight_g: Decimal | None = None
    best_before_months: int | None = None
    notes: str = ""
    method: tuple[str, ...] = ()
    lye_at_c: float | None = None
    fats_at_c: float | None = None
    scent_line: str = ""
    story: str = ""
    ink: Ink | None = None
    precautions: tuple[Precaution, ...] = ()
    as_written: AsWritten | None = None

    @property
    def by_mass(self) -> bool:
        """Whether the fats are written in masses."""
        return all(fat.mass_g is not None for fat in self.fats)


def parse_recipe(text: str, where: str) -> Recipe:
    """The recipe of a TOML text.

    Args:
        text: the file's text.
        where: what to call it in an error, such as its path.

    Raises:
        BadInput: anything wrong; names file, line if found, and field.
    """
    hint = 'texts need quotes, each fat starts with [[fats]]: fat = "olive"'
    source = Source(text=text, where=where, top_keys=TOP_KEYS, hint=hint)
    top = Fields(source, "", source.load(), TOP_KEYS)
    as_written = _as_written(top) if top.has("as_written") else None
    fats = _fats(top, as_written is not None)
    by_mass = fats[0].mass_g is not None
    return Recipe(
        code=_code(top),
        name=top.printed("name"),
        identity=top.printed("identity", "Soap"),
        fats=fats,
        lye=_lye(top),
        superfat_percent=_superfat(top, required=as_written is None),
        water=_water(top, required=as_written is None),
        additions=_additions(top, by_mass),
        bar=_bar(top) if top.has("bar") else None,
        cure_days=top.whole("cure_days", 1, 1000) if top.has("cure_days") else None,
        declared_weight_g=(
            top.measure("declared_weight", parse_mass_g) if top.has("declared_weight") else None
        ),
        best_before_months=(
            top.whole("best_before_months", 1, 120) if top.has("best_before_months") else None
        ),
        notes=top.text("notes", ""),
        method=top.lines("method", _MOST_STEPS),
        lye_at_c=_temperature_c(top, "lye_at"),
        fats_at_c=_temperature_c(top, "fats_at"),
        scent_line=_words(top, "scent_line", MOST_SCENT),
        story=_words(top, "story", MOST_STORY),
        ink=_ink(top) if top.has("ink") else None,
        precautions=read_precautions(top),
        as_written=as_written,
    )


def _temperature_c(top: Fields, key: str) -> float | None:
    if not top.has(key):
        return None
    try:
        wanted = parse_temperature_c(top.text(key), key)
    except BadInput as err:
        raise top.fail(key, err.message, err.hint) from err
    if not 0 < wanted < _BOILING_C:
        raise top.fail(key, f"{wanted:g} C is no temperature to mix at")
    return wanted


def _code(top: Fields) -> str:
    code = top.text("code")
    if not re.fullmatch(r"[A-Z]{2,4}", code):
        raise top.fail("code", f"'{code}' is not 2 to 4 capital letters", 'such as code = "DRF"')
    return code


def _words(top: Fields, key: str, most: int) -> str:
    """A line of the maker's own for the label."""
    text = top.printed(key, "")
    if len(text) > most:
        raise top.fail(key, f"has {len(text)} letters", f"say it in at most {most}")
    return text


def _ink(top: Fields) -> Ink:
    try:
        return parse_ink(top.text("ink"))
    except BadInput as err:
        raise top.fail("ink", err.message, err.hint) from err


def _superfat(top: Fields, *, required: bool) -> float | None:
    if not top.has("superfat_percent") and not required:
        return None
    most = float(read_toml("chemistry/lye.toml")["superfat"]["most_percent"])
    return top.number("superfat_percent", 0.0, most)


def _fats(top: Fields, lye_stated: bool) -> tuple[RecipeFat, ...]:
    read = top.rows("fats", ("fat", "share_percent", "mass"))
    if not read:
        raise top.fail("fats", "no fat is given", 'add [[fats]] with fat = "olive"')
    fats = tuple(_fat(fields, lye_stated) for fields in read)
    for n, fat in enumerate(fats):
        if fat.fat in [other.fat for other in fats[:n]]:
            raise read[n].fail("fat", f"'{fat.fat}' stands twice", "add the two together")
        if (fat.mass_g is None) != (fats[0].mass_g is None):
            raise read[n].fail("fat", "some fats have shares, others masses", "use one of the two")
    total = sum(fat.share_percent or 0.0 for fat in fats)
    if fats[0].mass_g is None and abs(total - ALL_PERCENT) > SHARE_SLACK_PERCENT:
        raise top.fail("fats", f"shares add to {total:g} %, not 100 %", "correct a share_percent")
    return fats


def _fat(fields: Fields, lye_stated: bool) -> RecipeFat:
    key = fields.text("fat")
    try:
        get_fat(key)
    except NotFound as err:
        raise fields.fail("fat", err.message, err.hint) from err
    if fields.has("mass") == fields.has("share_percent"):
        raise fields.fail("fat", f"'{key}' needs either mass or share_percent", "give one of them")
    if fields.has("mass"):
        return RecipeFat(fat=key, mass_g=fields.measure("mass", parse_mass_g))
    if lye_stated:
        raise fields.fail(
            "share_percent", "a recipe with its lye as written needs masses", 'write mass = "900 g"'
        )
    share = fields.number("share_percent", 0.0, ALL_PERCENT)
    if share == 0.0:
        raise fields.fail("share_percent", "is zero", "leave the fat out")
    return RecipeFat(fat=key, share_percent=share)


def _lye(top: Fields) -> LyeSpec:
    known = (
        "naoh_share_percent",
        "naoh_assay_percent",
        "koh_assay_percent",
        "naoh_carbonate_percent",
        "ready_lye",
    )
    fields = top.table("lye", known)
    share = fields.number(known[0], 0.0, ALL_PERCENT) if fields.has(known[0]) else ALL_PERCENT
    if top.has("as_written") and fields.has(known[0]):
        raise fields.fail(known[0], "the lye is stated as masses", "leave the share out")
    naoh = fields.number(known[1], 50.0, ALL_PERCENT) if fields.has(known[1]) else None
    koh = fields.number(known[2], 50.0, ALL_PERCENT) if fields.has(known[2]) else None
    return LyeSpec(
        naoh_share=share / ALL_PERCENT,
        naoh_assay_percent=default_assay("naoh", naoh, 0.0).nominal,
        koh_assay_percent=default_assay("koh", koh).nominal,
        naoh_assay_stated=naoh is not None,
        koh_assay_stated=koh is not None,
        naoh_carbonate_percent=fields.number(known[3], 0.0, 10.0) if fields.has(known[3]) else None,
        ready_percent=_ready_lye(fields) if fields.has("ready_lye") else None,
    )


def _ready_lye(fields: Fields) -> Interval:
    for key in ("naoh_assay_percent", "naoh_carbonate_percent"):
        if fields.has(key):
            what = "is for dry lye; ready lye is stated by the NaOH in it"
            raise fields.fail(key, what, "of your own stock write dry share x assay in ready_lye")
    try:
        return parse_ready_lye(fields.text("ready_lye"))
    except BadInput as err:
        raise fields.fail("ready_lye", err.message, err.hint) from err


def _one_of(fields: Fields, keys: Sequence[str]) -> str:
    given = [key for key in keys if fields.has(key)]
    if len(given) != 1:
        lead = "none" if not given else " and ".join(given)
        raise fields.fail(
            given[-1] if given else "", f"{lead} given", f"give exactly one of {', '.join(keys)}"
        )
    return given[0]


def _water(top: Fields, *, required: bool) -> WaterRule | None:
    if not required:
        for key in ("water", "liquids_count"):
            if top.has(key):
                raise top.fail(key, "the water is stated in [as_written]", "leave this line out")
        return None
    if not top.has("water") or not isinstance(top.data["water"], str):
        what = "is not a line in words" if top.has("water") else "is missing"
        raise top.fail("water", what, WATER_HINT)
    try:
        return parse_water(top.text("water"), liquids_count=top.flag("liquids_count"))
    except BadInput as err:
        raise top.fail("water", err.message, err.hint) from err


def _as_written(top: Fields) -> AsWritten:
    fields = top.table("as_written", ("naoh", "koh", "water"))
    if not fields.has("naoh") and not fields.has("koh"):
        raise fields.fail("naoh", "is missing", 'write naoh = "150 g" (or koh)')
    zero = Decimal(0)
    return AsWritten(
        naoh_g=fields.measure("naoh", parse_mass_g) if fields.has("naoh") else zero,
        koh_g=fields.measure("koh", parse_mass_g) if fields.has("koh") else zero,
        water_g=fields.measure("water", parse_mass_g),
    )


def _additions(top: Fields, by_mass: bool) -> tuple[Addition, ...]:
    bases = ("percent_of_fats", "percent_of_batch", "mass", "unmeasured")
    known = ("ingredient", "stage", *bases, "colour", "to_shade", "label_name", *LIMIT_KEYS)
    return tuple(_addition(row, bases, by_mass) for row in top.rows("additions", known))


def _addition(fields: Fields, bases: Sequence[str], by_mass: bool) -> Addition:
    basis = _one_of(fields, bases)
    amount: Decimal | None = None
    if basis == "mass":
        if not by_mass:
            raise fields.fail(
                "mass", "needs fats written in masses", "use percent_of_fats in a recipe by shares"
            )
        amount = fields.measure("mass", parse_mass_g)
    elif basis != "unmeasured":
        amount = Decimal(str(fields.number(basis, 0.0, ALL_PERCENT)))
    elif not fields.flag("unmeasured"):
        raise fields.fail("unmeasured", "is false", "give an amount, or unmeasured = true")
    elif takes_lye(fields.text("ingredient")):
        raise fields.fail("unmeasured", "this ingredient takes lye", "weigh it: give an amount")
    return Addition(
        ingredient=_ingredient(fields),
        stage=cast(Stage, fields.choice("stage", STAGES, "trace")),
        basis=cast(Basis, basis),
        amount=amount,
        colour=fields.flag("colour"),
        to_shade=fields.printed("to_shade", ""),
        label_name=fields.printed("label_name", ""),
        limit_percent=(
            fields.number(LIMIT_KEYS[0], 0.0, ALL_PERCENT) if fields.has(LIMIT_KEYS[0]) else None
        ),
        limit_source=fields.text(LIMIT_KEYS[1], ""),
    )


def _ingredient(fields: Fields) -> str:
    key = fields.text("ingredient")
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", key):
        raise fields.fail(
            "ingredient", f"'{key}' is not a plain key", 'small letters and hyphens: "sea-salt"'
        )
    fat = fat_called(key)
    if fat is not None:
        hint = f'write it under [[fats]], whenever it goes in: fat = "{fat.key}"'
        raise fields.fail("ingredient", f"'{key}' is a fat and takes lye", hint)
    return key


def _bar(top: Fields) -> BarShape:
    sizes = ("length", "width", "height", "diameter", "top_diameter", "bottom_diameter")
    fields = top.table("bar", ("shape", *sizes))
    shape = fields.choice("shape", ("brick", "cylinder", "cup"))
    wanted = {
        "brick": ("length", "width", "height"),
        "cylinder": ("diameter", "height"),
        "cup": ("top_diameter", "bottom_diameter", "height"),
    }[shape]
    for key in sizes:
        if fields.has(key) and key not in wanted:
            raise fields.fail(key, f"a {shape} has no {key}", f"give {', '.join(wanted)}")
    mm = {key: float(fields.measure(key, parse_length_mm)) for key in wanted}
    try:
        if shape == "brick":
            return Brick(length_mm=mm["length"], width_mm=mm["width"], height_mm=mm["height"])
        if shape == "cylinder":
            return Cylinder(diameter_mm=mm["diameter"], height_mm=mm["height"])
        return Cup(
            top_diameter_mm=mm["top_diameter"],
            bottom_diameter_mm=mm["bottom_diameter"],
            height_mm=mm["height"],
        )
    except BadInput as err:
        raise fields.fail("shape", err.message, err.hint) from err
