"""Entering the facts of a batch's life, each as one transaction."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING

from soapstock.actions.desk import Desk, free_lot_code, parsed_recipe, read_lot
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.units import format_g, g_from_mg, mg_from_g, parse_mass_g

if TYPE_CHECKING:
    from soapstock.ledger.facts import BatchFacts, Use

MAX_BARS = 100_000
RAW = "raw-"  # before a fat's key: that fat as it comes from the animal, not yet rendered


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """What came of entering a fact: the entry's number, its lot, and a line to say so."""

    entry_id: int
    lot_code: str
    said: str
    notes: tuple[str, ...] = ()


def bar_count(bars: int, what: str, *, least: int = 1) -> int:
    """A count of bars, after checking it. Raises BadInput."""
    if not least <= bars <= MAX_BARS:
        raise BadInput(f"{what} {bars} is not a count of bars", hint=f"give {least} or more")
    return bars


def receive(
    desk: Desk,
    ingredient: str,
    mass: str,
    *,
    supplier: str = "",
    supplier_lot: str = "",
    cost: str = "",
    best_before: date | None = None,
    certificate_sv: str = "",
    certificate: str = "",
    animal: str = "",
    raw_fat: str = "",
    acid_value: float | None = None,
    moisture_percent: float | None = None,
    sure: bool = False,
    on: date | None = None,
    note: str = "",
    made_from: tuple[Use, ...] = (),
) -> Entered:
    """Receive an ingredient lot: bought, or rendered from own fat.

    Args:
        certificate_sv: saponification value of the lot's certificate, mg KOH/g, as `196`,
            `196±1` or `194-198`; one figure alone is taken with the tolerance of the tables.
        sure: the certificate is right although it lies far outside the published range.
        made_from: what it was rendered from, lot by lot.

    Raises:
        BadInput: unknown ingredient, bad mass, cost or certificate; neither supplier nor animal.
        RuleBroken: a certificate far outside the fat's published range, and nobody is `sure`.
    """
    from soapstock.codes.lot import format_code, ingredient_prefix
    from soapstock.ledger.facts import ReceiveFacts

    key = known_ingredient(desk, ingredient)
    mass_g = parse_mass_g(mass, f"mass of {key}")
    if mass_g <= 0:
        raise BadInput(f"mass of {key} is nothing", hint="give what came in, such as 5 kg")
    if not supplier.strip() and not animal.strip():
        raise BadInput(
            f"where did this {key} come from?",
            hint="give --supplier NAME, or --animal REFERENCE for fat you rendered",
        )
    _refuse_fat_figures(key, certificate_sv, acid_value, moisture_percent)
    if acid_value is not None and not 0 <= acid_value <= 250:
        raise BadInput(f"acid value {acid_value:g} cannot be", hint="mg KOH/g, 0 to 250")
    if moisture_percent is not None and not 0 <= moisture_percent < 50:
        raise BadInput(f"moisture {moisture_percent:g} % cannot be", hint="0 to below 50 %")
    stamp = desk.stamp(on, note)
    low, nominal, high = _certificate(key, certificate_sv, sure=sure)
    raw_mg = mg_from_g(parse_mass_g(raw_fat, "raw fat")) if raw_fat else None
    notes: tuple[str, ...] = ()
    if raw_mg is not None:
        if raw_mg < mg_from_g(mass_g):
            raise BadInput(
                f"{format_g(mass_g)} rendered from {raw_fat} of raw fat cannot be",
                hint="--mass is the rendered fat, --raw-fat what went into the pot",
            )
        notes = (f"Yield {float(mass_g) * 100_000 / raw_mg:.0f} % of the raw fat.",)
    if best_before is not None and best_before < stamp.happened_on:
        notes = (*notes, f"It was best before {best_before.isoformat()}: pours will pass it by.")
    own = "own animal" if key.startswith(RAW) else "own rendering"
    prefix = ingredient_prefix(key)
    with desk.ledger.write() as writer:
        lot = free_lot_code(writer, prefix, stamp.happened_on)
        entry = writer.receive(
            stamp,
            ReceiveFacts(
                lot_code=lot,
                ingredient=key,
                mass_mg=mg_from_g(mass_g),
                supplier=supplier.strip() or own,
                supplier_lot=supplier_lot.strip(),
                cost_cents=cents(cost),
                currency=desk.shop.currency,
                best_before=best_before,
                sv_low=low,
                sv_nominal=nominal,
                sv_high=high,
                certificate=certificate.strip(),
                animal=animal.strip(),
                raw_fat_mg=raw_mg,
                acid_value=acid_value,
                moisture_percent=moisture_percent,
                made_from=made_from,
            ),
        )
    said = f"Received {format_g(mass_g)} of {key} as lot {format_code(lot)}."
    return Entered(entry_id=entry, lot_code=lot, said=said, notes=notes)


def known_ingredient(desk: Desk, text: str) -> str:
    """The key of a fat, an alkali or an addition: from the tables, or named by a recipe here.

    Raises:
        NotFound: nothing of that name; near keys are offered.
    """
    from soapstock.chemistry.fats import get_fat

    key = canonical(text)
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{1,60}", key):
        raise BadInput(
            f"ingredient '{text}' is not understood", hint="a name such as beef-tallow or kaolin"
        )
    if is_known(key) or key in own_additions(desk):
        return key
    try:
        get_fat(key)
    except NotFound as err:
        near = difflib.get_close_matches(key, known_keys(), n=3)
        hint = f"did you mean {', '.join(near)}?" if near else err.hint
        raise NotFound(f"no ingredient '{text}'", hint=hint) from None
    return key


def canonical(text: str) -> str:
    """The one key of an ingredient that has several names, such as `naoh` for caustic soda."""
    from soapstock.labelling.names import find_fat, find_material

    key = re.sub(r"[\s_]+", "-", text.strip().lower())
    if key in ("lye", "naoh", "koh"):
        return "koh" if key == "koh" else "naoh"
    fat = find_fat(key)
    if fat is not None:
        return fat.key
    material = find_material(key)
    if material is None:
        return key
    return {"sodium-hydroxide": "naoh", "potassium-hydroxide": "koh"}.get(
        material.key, material.key
    )


def is_known(key: str) -> bool:
    """Whether the tables know this key, or it is the raw fat of a fat they know."""
    from soapstock.chemistry.fats import all_fats

    return key in known_keys() or (key.startswith(RAW) and key[len(RAW) :] in all_fats())


@cache
def known_keys() -> tuple[str, ...]:
    """All keys of the tables: fats, alkalis, additions and scents."""
    from soapstock.chemistry.fats import all_fats
    from soapstock.labelling.names import all_materials

    return ("naoh", "koh", *all_fats(), *all_materials())


def own_additions(desk: Desk) -> set[str]:
    """Additions of the shop's own recipes that give their label name themselves."""
    with desk.ledger.read() as reader:
        texts = [(r.code, r.text) for r in reader.recipes()]
    recipes = [parsed_recipe(text, f"recipe {code}") for code, text in texts]
    return {canonical(a.ingredient) for r in recipes for a in r.additions if a.label_name}


def cents(text: str) -> int | None:
    """An amount of money as people write it, in cents; None for none. Raises BadInput."""
    if not text:
        return None
    match = re.fullmatch(r"\s*(\d{1,9})(?:\.(\d{1,2}))?\s*", text)
    if not match:
        raise BadInput(f"cost '{text}' is not an amount", hint="write it like 24.50")
    return int(match[1]) * 100 + int((match[2] or "0").ljust(2, "0"))


def _refuse_fat_figures(key: str, *figures: object) -> None:
    from soapstock.chemistry.fats import all_fats

    if key not in all_fats() and any(figure not in (None, "") for figure in figures):
        raise BadInput(
            f"{key} is no fat: it has no saponification value, acid value or moisture",
            hint="leave --sv, --acid-value and --moisture out",
        )


def _certificate(
    key: str, text: str, *, sure: bool
) -> tuple[float | None, float | None, float | None]:
    from soapstock.chemistry.certificates import doubt_about, read_sv
    from soapstock.chemistry.fats import get_fat

    if not text:
        return None, None, None
    stated = read_sv(text)
    doubt = doubt_about(stated, get_fat(key).sv)
    if doubt and not sure:
        raise RuleBroken(
            f"certificate SV {text} is far from what {key} has: {doubt}",
            hint="read the certificate again; if it is right add --sure",
        )
    return stated.low, stated.nominal, stated.high


def unmould(
    desk: Desk,
    lot: str,
    bars: int,
    mass: str,
    *,
    counted: int | None = None,
    rejects: int = 0,
    place: str = "rack",
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Record the unmoulding: good bars, rejects, and the mass of all or of a counted sample.

    Raises:
        RuleBroken: the bars weigh more than was poured.
    """
    from soapstock.codes.lot import format_code

    code = read_lot(desk, lot, kind="batch")
    bar_count(bars, "bars")
    bar_count(rejects, "rejects", least=0)
    sample = bar_count(counted if counted is not None else bars, "counted bars")
    if sample > bars:
        raise BadInput(f"{sample} bars weighed but only {bars} good", hint="check both counts")
    mass_g = parse_mass_g(mass, "mass")
    stamp = desk.stamp(on, note)
    facts = batch_facts(desk, code)
    each_g = mass_g / sample
    poured_g = g_from_mg(facts.pour.batter_mg)
    if each_g * (bars + rejects) > poured_g * Decimal("1.02"):
        raise RuleBroken(
            f"{bars + rejects} bars of {format_g(each_g, 1)} make "
            f"{format_g(each_g * (bars + rejects), 0)}, but only "
            f"{format_g(poured_g, 0)} was poured",
            hint="give the mass of the counted bars alone, without the tray",
        )
    if each_g * (bars + rejects) < poured_g / 2:
        raise RuleBroken(
            f"{bars + rejects} bars of {format_g(each_g, 1)} make under half of the "
            f"{format_g(poured_g, 0)} poured",
            hint="check the count, the mass and its unit",
        )
    with desk.ledger.write() as writer:
        entry = writer.unmould(
            stamp,
            code,
            bars=bars,
            rejects=rejects,
            counted_bars=sample,
            counted_mass_mg=mg_from_g(mass_g),
            place=place,
        )
    said = (
        f"Unmoulded {format_code(code)}: {bars} bars of {format_g(each_g, 1)} on {place}"
        + (f", {rejects} rejected" if rejects else "")
        + "."
    )
    return Entered(entry_id=entry, lot_code=code, said=said)


def batch_facts(desk: Desk, code: str) -> BatchFacts:
    """All facts of a batch."""
    with desk.ledger.read() as reader:
        return reader.batch(code)


def weigh(
    desk: Desk,
    lot: str,
    bars: int,
    mass: str,
    *,
    place: str | None = None,
    room_c: float | None = None,
    room_rh: float | None = None,
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Record a weigh-in of a counted set of bars.

    Raises:
        RuleBroken: the bars cannot weigh that: heavier than poured or under bone-dry.
    """
    from soapstock.codes.lot import format_code

    code = read_lot(desk, lot, kind="batch")
    bar_count(bars, "bars")
    mass_g = parse_mass_g(mass, "mass")
    stamp = desk.stamp(on, note)
    facts = batch_facts(desk, code)
    if facts.unmould is None:
        raise RuleBroken(
            f"{format_code(code)} is still in its mould", hint="enter soapstock unmould first"
        )
    if stamp.happened_on < facts.unmould.on:
        raise BadInput(
            f"{stamp.happened_on.isoformat()} is before the unmoulding on "
            f"{facts.unmould.on.isoformat()}",
            hint="check --on",
        )
    if bars > facts.unmould.bars:
        raise BadInput(f"{bars} bars weighed but the lot had {facts.unmould.bars}")
    start_g = g_from_mg(facts.unmould.counted_mass_mg) / facts.unmould.counted_bars
    each_g = mass_g / bars
    if not start_g / 2 <= each_g <= start_g * Decimal("1.1"):
        raise RuleBroken(
            f"{format_g(each_g, 1)} a bar cannot be: it was {format_g(start_g, 1)} at unmoulding",
            hint="check the count, the mass, its unit and the tray's tare; nothing was written",
        )
    with desk.ledger.write() as writer:
        entry = writer.weigh(
            stamp,
            code,
            bars=bars,
            mass_mg=mg_from_g(mass_g),
            place=place,
            room_c=room_c,
            room_rh=room_rh,
        )
    lost = 100 * (1 - float(each_g / start_g))
    said = (
        f"Weighed {format_code(code)}: {format_g(each_g, 1)} a bar, {lost:.1f} % under its start."
    )
    return Entered(entry_id=entry, lot_code=code, said=said, notes=_weigh_notes(desk, code, each_g))


def _weigh_notes(desk: Desk, code: str, each_g: Decimal) -> tuple[str, ...]:
    """What a weigh-in shows at once: under the declared weight, or a finding of the cure model."""
    from soapstock.actions.batches import view

    item = view(desk, code)
    notes = [problem.message for problem in item.alarms]
    declared = item.recipe.declared_weight_g
    if declared is not None and each_g < declared:
        notes.insert(
            0,
            f"Under the declared {format_g(declared, 1)}: weigh again; if it stays, declare less.",
        )
    return tuple(notes)


METHODS = ("tongue", "phenolphthalein", "titration", "ph")


def test(
    desk: Desk,
    lot: str,
    method: str,
    *,
    passed: bool | None,
    value: str = "",
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Record a free-alkali test.

    A titration in % NaOH is judged against the limit of tables/release_tests.toml; a pH is only a
    check for gross error and never opens the tested gate.
    """
    from soapstock.codes.lot import format_code
    from soapstock.tables import read_toml

    code = read_lot(desk, lot, kind="batch")
    if method not in METHODS:
        raise BadInput(f"no test '{method}'", hint=f"one of: {', '.join(METHODS)}")
    notes: tuple[str, ...] = ()
    if method in ("titration", "ph"):
        unit = "% NaOH" if method == "titration" else ""
        rule = read_toml("release_tests.toml")[method]
        limit = float(rule["value"])
        figure = _figure(value, method)
        judged = figure < limit or (figure == limit and bool(rule["limit_itself_passes"]))
        if passed is not None and passed and not judged:
            raise RuleBroken(
                f"{method} {figure:g} is not within the limit of {limit:g} {unit}".rstrip(),
                hint="leave out --pass and --fail; the figure is judged by itself",
            )
        passed = judged if passed is None else passed
        if method == "ph":
            notes = ("A pH only catches gross error; the tested gate also needs a tongue, "
                     "phenolphthalein or titration test.",)  # fmt: skip
    if passed is None:
        raise BadInput("did it pass?", hint="add --pass or --fail")
    stamp = desk.stamp(on, note)
    facts = batch_facts(desk, code)
    if facts.unmould is None or stamp.happened_on < facts.unmould.on:
        raise RuleBroken(
            f"{format_code(code)} was still in its mould then: a test of raw soap tells nothing",
            hint="unmould it, then test it",
        )
    with desk.ledger.write() as writer:
        entry = writer.test(stamp, code, method=method, passed=passed, value=value.strip())
    said = f"{format_code(code)}: {method} test {'passed' if passed else 'FAILED'}."
    if not passed:
        notes = (*notes, "Do not sell or use this batch; put it on hold: soapstock hold LOT --why")
    return Entered(entry_id=entry, lot_code=code, said=said, notes=notes)


def _figure(text: str, method: str) -> float:
    match = re.fullmatch(r"\s*(\d{1,3}(?:\.\d+)?)\s*%?\s*(?:NaOH)?\s*", text, re.IGNORECASE)
    top = 14.0 if method == "ph" else 20.0
    if not match or float(match[1]) > top:
        raise BadInput(
            f"{method} '{text}' is no figure",
            hint="--value 0.05 for % NaOH" if method == "titration" else "--value 10.2",
        )
    return float(match[1])


def undo(desk: Desk, entry_id: int, because: str, on: date | None = None) -> Entered:
    """Write the entry that reverses an earlier one."""
    if not because.strip():
        raise BadInput("an undo needs a reason", hint='add --because "what was wrong"')
    with desk.ledger.write() as writer:
        entry = writer.undo(desk.stamp(on), entry_id, because.strip())
    return Entered(
        entry_id=entry, lot_code="", said=f"Entry {entry_id} is undone by entry {entry}."
    )
