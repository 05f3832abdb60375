"""The words of what people do between a pour and a sale, and which test speaks; each once."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, Protocol, TypeVar

# A named person's decision on a batch (ISO 22716 asks for one).
Decision = Literal["release", "hold", "reject"]
# How free alkali is looked for; a pH alone only catches gross error.
Method = Literal["tongue", "phenolphthalein", "titration", "ph"]


class Tested(Protocol):
    """A test for free alkali on record."""

    @property
    def method(self) -> Method:
        """How it was tested."""
        ...

    @property
    def passed(self) -> bool:
        """Whether it passed."""
        ...


T = TypeVar("T", bound=Tested)


def deciding_test(tests: Iterable[T]) -> T | None:
    """The test that speaks for a batch, None without one; the tests come oldest first.

    The latest tongue, phenolphthalein or titration test speaks; a pH never lets a batch go. Any
    failed test speaks until a titration passes: soap that is unevenly mixed burns in one bar and
    not in the next, so a second tongue says nothing of the first (common practice, no source).
    """
    speaks: T | None = None
    for test in tests:
        failed = speaks is not None and not speaks.passed
        clears = test.method == "titration" or (not failed and test.method != "ph")
        if not test.passed or clears:
            speaks = test
    return speaks
