"""QR codes as vector squares: as strong as their place allows, four modules of quiet zone.

The error correction level is the highest (H before Q before M, never L) whose modules still print
sharply in the place there is: a fold or a scratch costs a share of the code, and a stronger code
can lose a larger one. On a roll printer that is any whole number of dots from 0.33 mm on; on
others, of which the dots are not known, 0.375 mm, three dots of the coarsest label printer: with
less, specks in a 203 dpi scan undo what the level mends (tests/published/test_label_damage.py).
Level Q, whose modules are larger in the same square, is taken before H where H's are under 0.53 mm:
in trials with three texts in squares of 15.5 to 22 mm both were read after each of 16 white folds
of 0.5 mm (M lost one to four of them), and a blur of 2 pixels at 200 dots to the inch (0.25 mm) was
survived from modules of about 0.53 mm on, whatever the level. Where no level comes to 0.375 mm, M
is taken with modules of 0.33 mm or more. Version 2 is taken before version 1 for the same reason:
only from version 2 on is there an alignment pattern, by which a reader straightens a creased code.

Rules: ISO/IEC 18004 (quiet zone of 4 modules; side 17 + 4 x version; of the eight masks the one
with the lowest penalty, section 7.8.3 of the 2015 edition); module size by common print practice,
no source (the standard leaves it to the application).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import floor
from typing import Any, Literal

import numpy as np
import qrcode
from numpy.typing import NDArray
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.exceptions import DataOverflowError

from soapstock.errors import RuleBroken

Level = Literal["H", "Q", "M"]
Matrix = tuple[tuple[bool, ...], ...]
QUIET_MODULES = 4
MIN_MODULE_MM = 0.33
CLEAR_MODULE_MM = 0.53
SHARP_MODULE_MM = 0.375  # 3 dots of 203 to the inch
_LEVELS = {"H": ERROR_CORRECT_H, "Q": ERROR_CORRECT_Q, "M": ERROR_CORRECT_M}  # strongest first
_MENDS_PERCENT = {"H": 30, "Q": 25, "M": 15}  # ISO/IEC 18004:2015 table 8
_ALIGNED = 2  # the first version with an alignment pattern
_MASKS = 8
_SPLIT_FROM = 10  # digits or capitals in a row that are worth a denser mode of their own
_FINDER_LIKE = (1, 0, 1, 1, 1, 0, 1, 0, 0, 0, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class QrPlan:
    """How a text becomes a QR code in the place there is.

    Attributes:
        level: error correction; H mends about 30 % of lost codewords, Q 25 %, M 15 %.
        version: 1 to 40; its side has 17 + 4 x version modules.
        module_mm: side of a module.
    """

    level: Level
    version: int
    module_mm: float

    @property
    def side_mm(self) -> float:
        """Side of the code with its quiet zone."""
        return (17 + 4 * self.version + 2 * QUIET_MODULES) * self.module_mm

    def describe(self) -> str:
        """What was chosen, in a line."""
        return (
            f"QR code: level {self.level}, which mends about {_MENDS_PERCENT[self.level]} % of it;"
            f" version {self.version}, modules of {self.module_mm:.2f} mm"
        )


def _code(text: str, level: Level, version: int | None = None, mask: int | None = None) -> Any:
    code = qrcode.QRCode(
        version=version, error_correction=_LEVELS[level], border=0, mask_pattern=mask
    )
    code.add_data(text, optimize=_SPLIT_FROM)
    return code


def _least_version(text: str, level: Level) -> int:
    """The smallest version that holds the text at that level; 0 when none does."""
    try:
        return int(_code(text, level).best_fit(start=1))
    except (DataOverflowError, ValueError):
        return 0


def _module_mm(version: int, side_mm: float, dots_per_mm: float | None) -> float:
    module = side_mm / (17 + 4 * version + 2 * QUIET_MODULES)
    return floor(module * dots_per_mm + 1e-6) / dots_per_mm if dots_per_mm else module


def _strongest_first(text: str, side_mm: float, dots_per_mm: float | None) -> list[Level]:
    """H before Q before M; Q before H where that makes modules larger and H's are not yet clear."""

    def clear_mm(level: Level) -> float:
        least = _least_version(text, level)
        module = _module_mm(max(least, _ALIGNED), side_mm, dots_per_mm) if least else 0.0
        return min(module, CLEAR_MODULE_MM)

    strong: list[Level] = ["H", "Q"]
    return [*sorted(strong, key=clear_mm, reverse=True), "M"]


def plan_qr(text: str, side_mm: float, *, dots_per_mm: float | None = None) -> QrPlan:
    """The strongest code of the text that fills a square of that side with sharp modules.

    Args:
        text: what the code says.
        side_mm: side of the square, quiet zone included.
        dots_per_mm: of a roll printer; the module is then a whole number of dots.

    Raises:
        RuleBroken: the text is empty or too long for one code, or even at level M the module would
            be under 0.33 mm; the message says what side is needed.
    """
    if not text:
        raise RuleBroken("there is no text for the QR code", hint="give the lot its code first")
    sharp = MIN_MODULE_MM if dots_per_mm else SHARP_MODULE_MM
    wanted: list[tuple[Level, int, float]] = []
    least = 0
    for level in _strongest_first(text, side_mm, dots_per_mm):
        least = _least_version(text, level)
        wanted += [(level, max(least, _ALIGNED), sharp), (level, least, sharp)] if least else []
    wanted += [("M", least, MIN_MODULE_MM)] if least else []
    for level, version, enough in wanted:
        module = _module_mm(version, side_mm, dots_per_mm)
        if module >= enough - 1e-9:
            return QrPlan(level=level, version=version, module_mm=module)
    if not least:
        raise RuleBroken(
            f"the QR text of {len(text)} characters is too long", hint="shorten the web address"
        )
    need = (17 + 4 * least + 2 * QUIET_MODULES) * MIN_MODULE_MM
    raise RuleBroken(
        f"the QR code needs a square of {need:.1f} mm and has {side_mm:.1f} mm",
        hint="shorten the web address, or take a bigger label",
    )


@lru_cache(maxsize=16)
def _mask_changes(version: int, level: Level) -> NDArray[np.bool_]:
    """Where a code with each of the 8 masks differs from the same code with mask 0.

    The difference is the same for every text: the masks themselves, and the format information.
    """
    made = []
    for mask in range(_MASKS):
        code = _code("0", level, version, mask)
        code.make(fit=False)
        made.append(np.array(code.get_matrix(), dtype=np.bool_))
    return np.stack(made) ^ made[0]


def _line_penalty(codes: NDArray[np.bool_]) -> NDArray[np.int_]:
    """Penalty of the rows: runs of five or more of a colour, and what looks like a finder."""
    same = codes[:, :, 1:] == codes[:, :, :-1]
    fives = same[:, :, 3:] & same[:, :, 2:-1] & same[:, :, 1:-2] & same[:, :, :-3]
    begun = fives[:, :, 1:] & ~fives[:, :, :-1]
    runs_of_five = fives.sum((1, 2)) + 2 * (begun.sum((1, 2)) + fives[:, :, 0].sum(1))
    width = codes.shape[2] - len(_FINDER_LIKE) + 1
    alike = np.zeros(codes.shape[0], dtype=np.int_)
    for pattern in (_FINDER_LIKE, _FINDER_LIKE[::-1]):
        found = np.ones((*codes.shape[:2], width), dtype=np.bool_)
        for at, dark in enumerate(pattern):
            found &= codes[:, :, at : at + width] == bool(dark)
        alike += found.sum((1, 2))
    total: NDArray[np.int_] = runs_of_five + 40 * alike
    return total


def penalties(codes: NDArray[np.bool_]) -> NDArray[np.int_]:
    """Penalty points of several codes of one size, dark modules true; the lowest is best.

    ISO/IEC 18004:2015 section 7.8.3.1 (N1 = 3, N2 = 3, N3 = 40, N4 = 10).
    """
    across = codes[:, :, 1:] == codes[:, :, :-1]
    down = codes[:, 1:, :] == codes[:, :-1, :]
    squares = (across[:, 1:] & across[:, :-1] & down[:, :, 1:]).sum((1, 2))
    dark = 100.0 * codes.mean((1, 2))
    uneven = (np.abs(dark - 50.0) / 5.0).astype(np.int_)
    rows, columns = _line_penalty(codes), _line_penalty(codes.transpose(0, 2, 1))
    total: NDArray[np.int_] = rows + columns + 3 * squares + 10 * uneven
    return total


@lru_cache(maxsize=8)
def qr_matrix(text: str, level: Level, version: int) -> Matrix:
    """Dark modules of the QR code of a text, row by row, without quiet zone.

    The library makes the code with one mask; the other seven follow from it by what each mask
    changes, and all eight are rated at once: the library's own choice takes eight times as long.

    Args:
        text: what the code says; it must fit, as plan_qr sees to.
        level: error correction.
        version: 1 to 40.
    """
    code = _code(text, level, version, 0)
    code.make(fit=False)
    all_masks = np.array(code.get_matrix(), dtype=np.bool_) ^ _mask_changes(version, level)
    best = all_masks[int(np.argmin(penalties(all_masks)))]
    return tuple(tuple(row) for row in best.tolist())


def runs(matrix: Matrix) -> list[tuple[int, int, int, int]]:
    """Dark areas as rectangles (column, row, columns, rows), equal rows joined downwards."""
    done: list[tuple[int, int, int, int]] = []
    open_runs: dict[tuple[int, int], int] = {}
    for row in range(len(matrix) + 1):
        found: set[tuple[int, int]] = set()
        if row < len(matrix):
            start: int | None = None
            for column, dark in enumerate((*matrix[row], False)):
                if dark and start is None:
                    start = column
                elif not dark and start is not None:
                    found.add((start, column - start))
                    start = None
        for run in [run for run in open_runs if run not in found]:
            top = open_runs.pop(run)
            done.append((run[0], top, run[1], row - top))
        for run in found:
            open_runs.setdefault(run, row)
    return sorted(done, key=lambda rect: (rect[1], rect[0]))


def draw_qr(
    canvas: Any, matrix: Matrix, *, left_pt: float, top_pt: float, module_pt: float
) -> None:
    """The code's dark modules as filled vector squares on a ReportLab canvas.

    Args:
        canvas: drawn on.
        matrix: from qr_matrix.
        left_pt: left edge of the first module, points from the canvas's left.
        top_pt: top edge of the first module, points from the canvas's bottom.
        module_pt: side of a module.
    """
    squares = " ".join(f"{x} {y} {across} {down} re" for x, y, across, down in runs(matrix))
    canvas.saveState()
    canvas.setFillGray(0)
    # In a space whose unit is the module and whose y runs down, every number is a small whole one.
    canvas.transform(module_pt, 0, 0, -module_pt, left_pt, top_pt)
    canvas._code.append(f"{squares} f")
    canvas.restoreState()


def text_qr(text: str) -> list[str]:
    """A QR code of level M in block letters for a terminal, dark on light, quiet zone included."""
    matrix = qr_matrix(text, "M", _least_version(text, "M"))
    side = len(matrix) + 2 * QUIET_MODULES

    def dark(row: int, column: int) -> bool:
        y, x = row - QUIET_MODULES, column - QUIET_MODULES
        return 0 <= y < len(matrix) and 0 <= x < len(matrix) and matrix[y][x]

    # Most terminals write light on dark: a light module is a drawn half block.
    blocks = {(False, False): "█", (False, True): "▀", (True, False): "▄", (True, True): " "}
    return [
        "".join(blocks[dark(row, column), dark(row + 1, column)] for column in range(side))
        for row in range(0, side, 2)
    ]
