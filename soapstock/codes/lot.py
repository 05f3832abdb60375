"""Lot codes: product, day of the pour, pour letter, check character.

`DRF26329A` is product DRF, poured on day 329 of 2026 (ISO 8601 ordinal date, YYDDD), first pour
that day; the ISO/IEC 7064 MOD 37,36 check character follows. People see the code in groups with
hyphens and may type it with or without them, in either case. Receipts of ingredients carry codes
of the same form, with three letters of the ingredient as product.

>>> make_lot_code("DRF", date(2026, 11, 25))
'DRF26329A1'
>>> format_code("DRF26329A1")
'DRF-26329-A1'
>>> validate("drf-26329-a1")
'DRF26329A1'
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from datetime import date, timedelta
from difflib import SequenceMatcher

from soapstock.codes import iso7064
from soapstock.errors import BadInput, RuleBroken

# I and O are accepted when read, never handed out: on a wet card they pass for 1 and 0.
POUR_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
MAX_TYPED = 200
_SHAPE = re.compile(r"([A-Z]{2,4})([0-9]{5})([A-Z])([0-9A-Z])")
_PRODUCT = re.compile(r"[A-Z]{2,4}")
_SEPARATORS = re.compile(r"[\s\-‐‑‒–—−._]+")
_LOOKALIKES = str.maketrans("OQISBZG", "0015826")
_CENTURY = 2000
_IN_TEXT = re.compile(r"\b[A-Z]{2,4}[0-9]{5}[A-Z][0-9A-Z]\b")
_EXAMPLE = "a lot code looks like DRF-26329-A1"


class LotCode(str):
    """A compact lot code, as it is kept and compared; what it says can be asked of it.

    Making one checks nothing: `validate` does, and the ledger holds only what was checked.
    """

    __slots__ = ()

    @property
    def shown(self) -> str:
        """The code in groups, as people read it, such as `DRF-26329-A1`."""
        return format_code(self)

    @property
    def product(self) -> str:
        """Two to four letters of the recipe or ingredient. Raises BadInput."""
        return _parts(self)[1]

    @property
    def day(self) -> date:
        """The day of the pour or receipt. Raises BadInput when it holds none."""
        return _day(self)

    @property
    def turn(self) -> str:
        """Year, day and letter: codes sorted by it stand in the order of their pours."""
        return self[-7:-1]


def compact(text: str) -> str:
    """The code in capitals without spaces, hyphens or stray line ends; nothing is checked."""
    return _SEPARATORS.sub("", text).upper()


def make_lot_code(product: str, day: date, letter: str = "A") -> LotCode:
    """The compact lot code of a pour or receipt.

    Raises:
        BadInput: product is not two to four letters A-Z, letter is not one letter, or the year is
            outside 2000 to 2099.
    """
    product, letter = product.upper(), letter.upper()
    if not _PRODUCT.fullmatch(product):
        raise BadInput(f"product code '{product}' is not 2 to 4 letters", hint="for example DRF")
    if not re.fullmatch(r"[A-Z]", letter):
        raise BadInput(f"pour letter '{letter}' is not one letter", hint="A for the first pour")
    if not _CENTURY <= day.year < _CENTURY + 100:
        raise BadInput(f"lot codes cannot carry the year {day.year}", hint="2000 to 2099 only")
    payload = f"{product}{day:%y%j}{letter}"
    return LotCode(payload + iso7064.check_character(payload))


def validate(text: str) -> LotCode:
    """The lot code in a typed text, right in form, check character and day.

    Raises:
        BadInput: it is not; the message says which of the three.
    """
    code = _parts(text)[0]
    if not iso7064.is_valid(code):
        raise BadInput(
            f"lot code {format_code(code)}: the check character '{code[-1]}' does not fit the rest",
            hint="one character is mistyped, or two are swapped; read the label again",
        )
    _day(code)
    return LotCode(code)


def _parts(text: str) -> re.Match[str]:
    """The code, compact, with product, day, letter and check character. Raises BadInput."""
    match = _SHAPE.fullmatch(compact(text[:MAX_TYPED]))
    if not match:
        shown = " ".join(text[:40].split())
        raise BadInput(f"'{shown}' is not a lot code", hint=_EXAMPLE)
    return match


def _day(code: str) -> date:
    ordinal = _parts(code)[2]
    year = _CENTURY + int(ordinal[:2])
    day = date(year, 1, 1) + timedelta(days=int(ordinal[2:]) - 1)
    if day.year != year:
        raise BadInput(
            f"lot code {format_code(code)}: the year {year} has no day {ordinal[2:]}",
            hint=_EXAMPLE,
        )
    return day


def is_valid(text: str) -> bool:
    """Whether the text is a sound lot code; never raises."""
    try:
        validate(text)
    except BadInput:
        return False
    return True


def format_code(text: str) -> str:
    """The code in groups for people, such as `DRF-26329-A1`; other text comes back bare."""
    code = compact(text)
    match = _SHAPE.fullmatch(code)
    return f"{match[1]}-{match[2]}-{match[3]}{match[4]}" if match else code


def with_hyphens(text: str) -> str:
    """The text with every compact lot code in it written in groups."""
    return _IN_TEXT.sub(lambda found: format_code(found[0]), text)


def near_codes(text: str, existing: Iterable[LotCode], n: int = 3) -> list[LotCode]:
    """Up to n existing compact lot codes most like a mistyped one, likeliest first.

    Characters that look alike (0 and O, 1 and I, 5 and S, 8 and B) count as nearly the same.
    """
    typed = compact(text[:MAX_TYPED])
    matcher, plain = SequenceMatcher(autojunk=False), SequenceMatcher(autojunk=False)
    matcher.set_seq2(typed.translate(_LOOKALIKES))
    plain.set_seq2(typed)
    scored: list[tuple[float, LotCode]] = []
    for code in existing:
        matcher.set_seq1(code.translate(_LOOKALIKES))
        plain.set_seq1(code)
        likeness = 0.8 * matcher.ratio() + 0.2 * plain.ratio()
        if likeness >= 0.6:  # noqa: PLR2004 - below it the code shares hardly more than its year
            scored.append((-likeness, code))
    return [code for _, code in sorted(scored)[:n]]


def ingredient_prefix(key: str, recipes: Collection[str] = ()) -> str:
    """Three letters for an ingredient's lots; short keys end in X.

    Four where three are a recipe's code: a soap and its oil should not look alike.

    >>> ingredient_prefix("beef-tallow"), ingredient_prefix("lavender-oil", {"LAV"})
    ('BEE', 'LAVE')
    """
    letters = re.sub(r"[^A-Z]", "", key.upper()) + "XXX"
    return letters[:4] if letters[:3] in recipes else letters[:3]


def next_letter(existing: Iterable[str], product: str, day: date) -> str:
    """The first free pour letter for a product on a day; A, B ... without I and O.

    Raises:
        RuleBroken: all 24 letters of that day are taken.
    """
    head = f"{product.upper()}{day:%y%j}"
    taken = {
        code[len(head)] for code in existing if code.startswith(head) and len(code) == len(head) + 2
    }
    for letter in POUR_LETTERS:
        if letter not in taken:
            return letter
    raise RuleBroken(
        f"all {len(POUR_LETTERS)} lot letters of {product.upper()} on {day} are taken",
        hint="enter the rest under another day or another product code",
    )
