"""What counts as an ingredient of this shop, and the one key behind its names."""

from __future__ import annotations

import difflib
import re

from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.desk.desk import Desk
from soapstock.desk.finding import parsed_recipe
from soapstock.errors import BadInput, NotFound
from soapstock.labelling.names import all_materials, find_material
from soapstock.recipes.keys import plain_key

RAW = "raw-"  # before a fat's key: that fat as it comes from the animal, not yet rendered


def known_ingredient(desk: Desk, text: str) -> str:
    """The key of a fat, an alkali or an addition: from the tables, or named by a recipe here.

    Raises:
        NotFound: nothing of that name; near keys are offered.
    """
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
    key = plain_key(text)
    if key.startswith(RAW):
        return RAW + plain_key(key.removeprefix(RAW))
    if key in ("naoh", "koh", *all_fats()):
        return key
    material = find_material(key)
    return key if material is None else plain_key(material.key)


def is_known(key: str) -> bool:
    """Whether the tables know this key, or it is the raw fat of a fat they know."""
    return key in known_keys() or (key.startswith(RAW) and key[len(RAW) :] in all_fats())


def known_keys() -> tuple[str, ...]:
    """All keys of the tables: fats, alkalis, additions and scents."""
    return ("naoh", "koh", *all_fats(), *all_materials())


def own_additions(desk: Desk) -> set[str]:
    """Additions of the shop's own recipes that give their label name themselves."""
    with desk.ledger.read() as reader:
        texts = [(r.code, r.text) for r in reader.recipes()]
    recipes = [parsed_recipe(text, f"recipe {code}") for code, text in texts]
    return {canonical(a.ingredient) for r in recipes for a in r.additions if a.label_name}
