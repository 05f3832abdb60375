"""What a person typed is found: a lot, a recipe, a lot code that is free."""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

from soapstock.chemistry.fats import own_fats
from soapstock.codes.lot import MAX_TYPED, LotCode, compact, make_lot_code, near_codes, next_letter
from soapstock.codes.reading import read_code
from soapstock.desk.desk import Desk
from soapstock.errors import BadInput, Mend, NotFound
from soapstock.recipes.recipe import parse_recipe
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.chemistry.fats import Fat
    from soapstock.ledger.read.reader import Reader
    from soapstock.ledger.write.writer import Writer
    from soapstock.recipes.recipe import Recipe


def parsed_recipe(text: str, where: str) -> Recipe:
    """The recipe of a stored text; parsed once for a shop, whose fats decide what it may name."""
    return _parsed(text, where, own_fats())


# Product and at least one figure of the day; with the check character it is a whole code.
_BEGINNING = re.compile(r"[A-Z]{2,4}[0-9]{1,5}|[A-Z]{2,4}[0-9]{5}[A-Z]")
_MOST_SHOWN = 8


@cache
def _parsed(text: str, where: str, _own: tuple[Fat, ...]) -> Recipe:
    return parse_recipe(text, where)


def read_lot(desk: Desk, text: str, *, kind: str | None = None) -> LotCode:
    """The compact lot code of what was typed or scanned, known to this ledger.

    Args:
        text: a lot code in any form, a scanned link, or the beginning of a code, from its first
            figure on, that only one lot here has.
        kind: `batch` or `ingredient` when only one will do.

    Raises:
        BadInput: the check character is wrong, near lots are offered; or several lots begin so.
        NotFound: well formed, but no such lot here; near lots are offered.
    """
    with desk.ledger.read() as reader:
        begun = _begun(reader, text, kind)
        if begun is not None:
            return begun
        try:
            code = read_code(text)
        except BadInput as err:
            near = near_codes(text, reader.all_lot_codes())
            hint = _did_you_mean(near) or err.hint
            raise BadInput(
                err.message, hint=hint, mend=None if near else Mend("list_lots")
            ) from None
        found = reader.lot_kind(code)
        if found is None or (kind is not None and found != kind):
            near = near_codes(code, reader.all_lot_codes(), n=8)
            near = [c for c in near if kind in (None, reader.lot_kind(c))][:3]
            what = "lot" if kind is None or found is None else f"{kind} lot"
            message = f"no {what} {code.shown} in this ledger"
            if found is not None:
                message = f"{code.shown} is not a {kind} lot but a lot of {found}"
            raise NotFound(
                message, hint=_did_you_mean(near), mend=None if near else Mend("list_lots")
            )
    return code


def _begun(reader: Reader, text: str, kind: str | None) -> LotCode | None:
    """The only lot that begins as typed, or None; a whole code is never completed or guessed."""
    beginning = compact(text[:MAX_TYPED])
    if not _BEGINNING.fullmatch(beginning):
        return None
    codes = [code for code in reader.all_lot_codes() if code.startswith(beginning)]
    found = [code for code in codes if kind in (None, reader.lot_kind(code))]
    if len(found) > 1:
        shown = ", ".join(code.shown for code in found[:_MOST_SHOWN])
        more = f" and {len(found) - _MOST_SHOWN} more" if len(found) > _MOST_SHOWN else ""
        raise BadInput(
            f"'{beginning}' begins {several(len(found), 'lot code')}",
            hint=f"which one: {shown}{more}",
        )
    return found[0] if found else None


def _did_you_mean(near: list[LotCode]) -> str:
    return f"did you mean {' or '.join(code.shown for code in near)}?" if near else ""


def free_lot_code(book: Reader | Writer, product: str, day: date) -> LotCode:
    """A lot code that no lot ever had.

    Asked inside the write transaction that takes it, no two get the same.
    """
    letter = next_letter(book.codes_ever_used(), product, day)
    return make_lot_code(product, day, letter)


def find_recipe(reader: Reader, code: str, version: int | None = None) -> tuple[Recipe, int]:
    """A stored recipe and its version. Raises NotFound with the codes that are here."""
    wanted = code.strip().upper()
    try:
        stored = reader.recipe(wanted, version)
    except NotFound:
        known = ", ".join(sorted(r.code for r in reader.recipes())) or "none yet"
        raise NotFound(
            f"no recipe {wanted}" + (f" version {version}" if version else ""),
            hint=f"recipes here: {known}",
            mend=Mend("add_recipe"),
        ) from None
    return parsed_recipe(stored.text, f"recipe {stored.code}"), stored.version
