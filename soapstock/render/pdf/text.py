"""Wrapping text by measured width, and choosing the largest type that fits a box."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, pairwise
from math import inf

from soapstock.render.pdf.fonts import Font
from soapstock.units import MM_PER_PT

_STEP_PT = 0.25
_NO_BREAK = "\u00a0"
_SUM_SLACK = 1e-9  # a line's width summed in another order differs in its last digits
_PLAIN_END = 0.1  # toll of a line's end without a comma; a line two thirds full costs as much
_TOGETHER = re.compile(  # what is not parted at a line's end, if it can be helped
    r"\d (?:mg|k?g|oz|lb|mm|cm|ml|[CF]|°[CF]|%|min|h)(?!\w)"  # number and unit
    r"|(?:[^\W\d]+ )?\d+ (?:days|jours|Tage|días|dagen)\b"
    r"|\bCI \d"
    r"|(?:^|(?<=, ))\d{1,4}[a-z]? [^\W\d]+"  # house number before its street
    r"|[^\W\d]+ \d{1,4}[a-z]?(?=,|$)"  # and after it
    r"|\b[A-Z]{2} \d{5}\b|\b[A-Z]{1,2}\d\w? \d[A-Z]{2}\b"  # post codes
    r"|\b\d{1,2}\.? (?:de )?[^\W\d]{3,}\.? (?:de )?\d{4}\b"  # day, month, year
)
_BREAK_INSIDE = re.compile(r"(?<=[-/_])(?=.)")


class TooWideError(Exception):
    """One word is wider than the whole line; `word` names it."""

    def __init__(self, word: str) -> None:
        super().__init__(word)
        self.word = word


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """Text broken into lines at one type size.

    Attributes:
        lines: the lines, top to bottom.
        size_pt: type size.
        leading_mm: from one baseline to the next.
        height_mm: from the top of the first line's ascent to the last line's descent.
        width_mm: of the longest line.
        broken: words broken inside.
    """

    lines: tuple[str, ...]
    size_pt: float
    leading_mm: float
    height_mm: float
    width_mm: float
    broken: int


@lru_cache(maxsize=2048)
def _em(font: Font, text: str) -> float:
    return font.width_mm(text.replace(_NO_BREAK, " "), 1000.0) / 1000.0


def _pieces(word: str, font: Font, limit: float) -> Iterable[tuple[str, float, bool]]:
    """The word, or its parts when wider than a line; with width and whether a blank comes first."""
    width = _em(font, word)
    if width <= limit:
        yield word, width, True
        return
    for part in word.split(_NO_BREAK):
        blank = True
        for piece in [part] if "@" in part else _BREAK_INSIDE.split(part):
            width = _em(font, piece)
            if width > limit:
                raise TooWideError(part)
            yield piece, width, blank
            blank = False


def _wrap_one(text: str, font: Font, limit: float) -> list[str]:
    # Widths of parts do not just add up: see Font.width_mm.
    joint = (font.tracking_em - font.thicker_em) * MM_PER_PT
    space = _em(font, " ") + joint
    lines: list[str] = []
    line, used = "", 0.0
    for word in text.split(" "):
        for piece, width, blank in _pieces(word, font, limit):
            gap = (space if blank else 0.0) + joint if line else 0.0
            if line and used + gap + width > limit:
                lines.append(line)
                line, used = piece, width
            else:
                line += (" " if line and blank else "") + piece
                used += gap + width
    return [*lines, line]


def _even_one(text: str, font: Font, limit: float, count: int) -> list[str]:
    """That many lines, as equally long as they can be, ended after a comma where it costs little.

    The least sum over the lines of the squared share that each leaves empty, and of a toll for an
    end that no comma or stop makes.
    """
    words = text.split(" ")
    joint = (font.tracking_em - font.thicker_em) * MM_PER_PT
    space = _em(font, " ") + 2 * joint
    ends = list(accumulate((_em(font, word) + space for word in words), initial=0.0))

    def cost(start: int, end: int) -> float:
        empty = 1 - (ends[end] - ends[start] - space) / limit
        plain = end < len(words) and not words[end - 1].endswith((",", ".", ";", ":"))
        return inf if empty < -_SUM_SLACK else empty**2 + _PLAIN_END * plain

    best: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}  # by where a line ends
    for _ in range(count):
        longer: dict[int, tuple[float, tuple[int, ...]]] = {}
        for start, (spent, stops) in best.items():
            for end in range(start + 1, len(words) + 1):
                total = spent + cost(start, end)
                if total == inf:
                    break
                if end not in longer or total < longer[end][0]:
                    longer[end] = (total, (*stops, end))
        best = longer
    return [" ".join(words[start:end]) for start, end in pairwise((0, *best[len(words)][1]))]


def wrap(
    text: str, font: Font, size_pt: float, width_mm: float, *, even: bool = False
) -> list[str]:
    """Lines no wider than the width; breaks at spaces, in long words after - / and _.

    A mail address is never broken, and nothing is broken at a dot: there a reader would take the
    line's end for a part of the address.

    A number stays with its unit, a day with its month, CI with its number, where there is room.

    Args:
        even: as equally long as so many lines can be, rather than each as long as it can be.

    Raises:
        TooWideError: a word that cannot be broken is wider than the line.
    """
    limit = width_mm / size_pt + 1e-9
    bound = _TOGETHER.sub(lambda match: match[0].replace(" ", _NO_BREAK), text)
    lines: list[str] = []
    for part in bound.split("\n"):
        full = _wrap_one(part, font, limit)
        evened = even and len(full) > 1 and " ".join(full) == part  # no word broken inside
        lines += _even_one(part, font, limit, len(full)) if evened else full
    return [line.replace(_NO_BREAK, " ") for line in lines]


def block_height_mm(lines: int, font: Font, size_pt: float, leading: float) -> float:
    """Height in mm of so many lines, from the first ascent to the last descent."""
    em = (lines - 1) * leading + font.ascent + font.descent
    return em * size_pt * MM_PER_PT


def _breaks(text: str, lines: list[str]) -> int:
    """How many lines end inside a word: every other line's end stands for one blank."""
    blanks = sum(line.count(" ") for line in lines)
    return len(lines) - 1 - (text.count(" ") + text.count(_NO_BREAK) + text.count("\n") - blanks)


def set_lines(
    text: str,
    font: Font,
    size_pt: float,
    width_mm: float,
    leading: float = 1.2,
    *,
    even: bool = False,
) -> Fitted:
    """The text wrapped at exactly that size. Raises TooWideError."""
    lines = wrap(text, font, size_pt, width_mm, even=even)
    return Fitted(
        lines=tuple(lines),
        size_pt=size_pt,
        leading_mm=leading * size_pt * MM_PER_PT,
        height_mm=block_height_mm(len(lines), font, size_pt, leading),
        width_mm=max(_em(font, line) * size_pt for line in lines),
        broken=_breaks(text, lines),
    )


def _sizes(size_pt: float, least_pt: float) -> Iterable[float]:
    size = max(size_pt, least_pt)
    while size > least_pt:
        yield size
        size -= _STEP_PT
    yield least_pt


def fit(
    text: str,
    font: Font,
    *,
    width_mm: float,
    height_mm: float,
    size_pt: float,
    min_size_pt: float,
    leading: float = 1.2,
    keep_lines: bool = False,
) -> Fitted | None:
    """The text at the largest size between the two that fits the box; None when none does.

    Smaller type is taken only to spare words broken inside, or lines when those are to be kept.

    Args:
        text: may hold line breaks.
        font: measured face.
        width_mm: of the box.
        height_mm: of the box.
        size_pt: size wished for.
        min_size_pt: never smaller than this.
        leading: baseline distance as a multiple of the size.
        keep_lines: take smaller type where that gives fewer lines.
    """
    best: Fitted | None = None
    fewest = text.count("\n") + 1 if keep_lines else 0
    for size in _sizes(size_pt, min_size_pt):
        try:
            fitted = set_lines(text, font, size, width_mm, leading)
        except TooWideError:
            continue
        if fitted.height_mm > height_mm + 1e-9:
            continue
        costs = [len(f.lines) if keep_lines else f.broken for f in (fitted, best) if f]
        if best is None or costs[0] < costs[1]:
            best = fitted
        if costs[0] <= fewest:
            break
    return best
