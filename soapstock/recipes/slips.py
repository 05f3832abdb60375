"""Naming the likeliest slip: which single mistake turns the plan into what was weighed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from soapstock.units import GRAMS_PER, mass_words

# A slip is recognised when it brings the plan this near to the mass weighed.
NEAR_PERCENT = 2.0
OUNCE_G = float(GRAMS_PER["oz"])
POUND_G = float(GRAMS_PER["lb"])
TARE_LEAST_G, TARE_MOST_G = 20.0, 5000.0
ALKALI_KEYS = ("naoh", "koh", "water")


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighLine:
    """One thing weighed, against its plan, g."""

    key: str
    name: str
    actual_g: float
    planned_g: float

    @property
    def as_planned(self) -> bool:
        """Whether the two are near each other."""
        return is_near(self.actual_g, self.planned_g)

    @property
    def gap(self) -> float:
        """Relative difference; the mass itself when none was planned."""
        if self.planned_g == 0.0:
            return self.actual_g
        return abs(self.actual_g - self.planned_g) / self.planned_g


def is_near(mass_g: float, expected_g: float) -> bool:
    """Within the tolerance of a recognised slip."""
    if expected_g == 0.0:
        return mass_g == 0.0
    return abs(mass_g - expected_g) * 100.0 <= NEAR_PERCENT * expected_g


_RATIOS: tuple[tuple[str, Callable[[float], float]], ...] = (
    ("weighed twice", lambda planned: planned * 2.0),
    ("half left out", lambda planned: planned / 2.0),
    ("a decimal point slipped one place up", lambda planned: planned * 10.0),
    ("a decimal point slipped one place down", lambda planned: planned / 10.0),
    ("ounces read as grams", lambda planned: planned / OUNCE_G),
    ("grams read as ounces", lambda planned: planned * OUNCE_G),
    ("pounds read as grams", lambda planned: planned / POUND_G),
)


def likeliest_slip(
    lines: Sequence[WeighLine],
    other_lyes: Mapping[str, float] | None = None,
    *,
    lye_heavy: bool = False,
) -> str | None:
    """The likeliest slip in words, or None when everything is near its plan.

    Args:
        lines: fats, `naoh`, `koh`, `water`, planned and weighed.
        other_lyes: NaOH, g, that other recipes (by name) would take for the same mass of fat.
        lye_heavy: name first what can leave lye over: too much lye, or too little of a fat.
    """
    off = sorted((line for line in lines if not line.as_planned), key=lambda line: -line.gap)
    if not off:
        return None
    for found in _pairs(lines, off):
        return found
    if lye_heavy:
        off = [line for line in off if _leaves_lye(line)] or off
    for line in off:
        words = _single(line, other_lyes or {})
        if words is not None:
            return words
    return _leftover(off[0])


def _leaves_lye(line: WeighLine) -> bool:
    if line.key in ("naoh", "koh"):
        return line.actual_g > line.planned_g
    return line.key != "water" and line.actual_g < line.planned_g


def _pairs(lines: Sequence[WeighLine], off: Sequence[WeighLine]) -> Iterator[str]:
    by_key = {line.key: line for line in lines}
    naoh, koh = by_key["naoh"], by_key["koh"]
    if naoh.actual_g == 0.0 < naoh.planned_g and is_near(koh.actual_g, naoh.planned_g):
        yield "KOH was weighed instead of NaOH"
    for one, two in combinations([line for line in lines if not line.as_planned], 2):
        crossed = is_near(one.actual_g, two.planned_g) and is_near(two.actual_g, one.planned_g)
        if crossed and one.planned_g > 0.0 and two.planned_g > 0.0:
            yield f"{one.name} and {two.name} were swapped"
    fats = [line for line in lines if line.key not in ALKALI_KEYS]
    solution = [by_key[key] for key in ALKALI_KEYS if by_key[key].planned_g > 0.0]
    ratios = [line.actual_g / line.planned_g for line in solution]
    steady = max(ratios) - min(ratios) <= NEAR_PERCENT / 100.0 * max(ratios)
    moved = abs(ratios[0] - 1.0) > NEAR_PERCENT / 100.0
    if len(solution) > 1 and steady and moved and all(line.as_planned for line in fats):
        yield f"the lye solution was made for {ratios[0]:.2f} times these fats"


def _single(line: WeighLine, other_lyes: Mapping[str, float]) -> str | None:
    if line.planned_g == 0.0:
        return f"{line.name}: not in the recipe"
    if line.actual_g == 0.0:
        return f"{line.name}: left out"
    for words, slipped in _RATIOS:
        if is_near(line.actual_g, slipped(line.planned_g)):
            return f"{line.name}: {words}"
    if _swapped_digits(line.actual_g, line.planned_g):
        return f"{line.name}: two digits swapped ({line.actual_g:.0f} for {line.planned_g:.0f})"
    if line.key == "naoh":
        for recipe, naoh_g in other_lyes.items():
            if abs(line.actual_g - naoh_g) * 100.0 <= NEAR_PERCENT / 2.0 * naoh_g:
                return f"NaOH: {mass_words(line.actual_g)} is the lye of {recipe}"
    return None


def _swapped_digits(mass_g: float, planned_g: float) -> bool:
    shown, wanted = f"{mass_g:.0f}", f"{planned_g:.0f}"
    if shown == wanted or len(shown) != len(wanted):
        return False
    places = range(len(wanted) - 1)
    return any(wanted[:i] + wanted[i + 1] + wanted[i] + wanted[i + 2 :] == shown for i in places)


def _leftover(line: WeighLine) -> str:
    gap_g = line.actual_g - line.planned_g
    what = "more" if gap_g > 0.0 else "less"
    guesses = []
    if _one_digit(line.actual_g, line.planned_g):
        guesses.append(f"one digit was misread ({line.actual_g:.0f} for {line.planned_g:.0f})")
    if TARE_LEAST_G <= abs(gap_g) <= TARE_MOST_G:
        guesses.append("the bowl's tare was " + ("left in" if gap_g > 0.0 else "taken off twice"))
    text = f"{line.name}: {mass_words(abs(gap_g), 0)} {what} than planned"
    return f"{text}; perhaps {', or '.join(guesses)}" if guesses else text


def _one_digit(mass_g: float, planned_g: float) -> bool:
    shown, wanted = f"{mass_g:.0f}", f"{planned_g:.0f}"
    same_length = len(shown) == len(wanted)
    return same_length and sum(a != b for a, b in zip(shown, wanted, strict=True)) == 1
