"""The ISO/IEC 7064 MOD 37,36 check character, over digits and capital letters.

A hybrid system: it catches every single wrong character and nearly every swap of two neighbours.
The alphabet is 0-9 then A-Z, so a character counts as its place in it. Start with P = 36. For each
character of value a: S = (P + a) mod 36, taking 36 for 0; then P = 2 S mod 37. The check character
is the one of value (37 - P) mod 36.

Source: ISO/IEC 7064:2003, hybrid systems; the standard's own text was not read, the algorithm is
checked against an independent library in tests/published/test_iso7064.py.

>>> check_character("123AB")
'X'
>>> is_valid("123ABX")
True
"""

from __future__ import annotations

from soapstock.errors import BadInput

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_MODULUS = len(ALPHABET)
_VALUE = {character: value for value, character in enumerate(ALPHABET)}


def check_character(payload: str) -> str:
    """The check character to write after a payload of digits and capital letters.

    Raises:
        BadInput: the payload is empty or holds another character.
    """
    if not payload:
        raise BadInput("nothing to compute a check character from", hint="give at least one letter")
    product = _MODULUS
    for character in payload:
        if character not in _VALUE:
            raise BadInput(
                f"'{character}' in '{payload}' cannot stand in a code",
                hint="a code holds only the digits 0-9 and the letters A-Z",
            )
        total = (product + _VALUE[character]) % _MODULUS or _MODULUS
        product = 2 * total % (_MODULUS + 1)
    return ALPHABET[(_MODULUS + 1 - product) % _MODULUS]


def is_valid(text: str) -> bool:
    """Whether the last character is the right check character of those before it; never raises."""
    if len(text) <= 1 or any(character not in _VALUE for character in text):
        return False
    return check_character(text[:-1]) == text[-1]
