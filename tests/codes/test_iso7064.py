"""ISO/IEC 7064 MOD 37,36 check characters."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.codes.iso7064 import ALPHABET, check_character, is_valid
from soapstock.errors import BadInput

payloads = st.text(ALPHABET, min_size=1, max_size=12)


@given(payloads)
def test_a_payload_with_its_check_character_is_valid(payload: str) -> None:
    """Appending the check character always gives a valid code."""
    assert is_valid(payload + check_character(payload))


@given(payloads, st.data())
def test_any_single_wrong_character_is_caught(payload: str, data: st.DataObject) -> None:
    """Replacing any one character by another makes the code invalid."""
    code = payload + check_character(payload)
    place = data.draw(st.integers(0, len(code) - 1))
    other = data.draw(st.sampled_from([c for c in ALPHABET if c != code[place]]))
    assert not is_valid(code[:place] + other + code[place + 1 :])


def test_nearly_all_swaps_of_neighbours_are_caught() -> None:
    """Of all swaps of two unlike neighbours before a check character, fewer than 1 in 500 pass."""
    swaps = [(a, b) for a in ALPHABET for b in ALPHABET if a != b]
    missed = [1 for a, b in swaps if is_valid(b + a + check_character(a + b))]
    assert len(missed) <= len(swaps) / 500


@pytest.mark.parametrize("text", ["", "A", "drf26329a1", "DRF-26329-A1", "É1"])
def test_texts_outside_the_alphabet_are_simply_invalid(text: str) -> None:
    """is_valid answers False for an empty, short or foreign text and never raises."""
    assert not is_valid(text)


@pytest.mark.parametrize("payload", ["", "a", "A B"])
def test_a_payload_outside_the_alphabet_is_refused(payload: str) -> None:
    """check_character raises BadInput for an empty or foreign payload."""
    with pytest.raises(BadInput):
        check_character(payload)
