"""QR codes as vector squares: level M, four modules of quiet zone, module at least 0.33 mm.

Rules: ISO/IEC 18004 (quiet zone of 4 modules; side 17 + 4 x version); module size by common print
practice, no source (the standard leaves it to the application).
"""

from __future__ import annotations

from functools import lru_cache
from math import floor
from typing import Any

import qrcode
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.exceptions import DataOverflowError

from soapstock.errors import RuleBroken

QUIET_MODULES = 4
MIN_MODULE_MM = 0.33
Matrix = tuple[tuple[bool, ...], ...]


def _fitted(text: str, level: int) -> Any:
    code = qrcode.QRCode(error_correction=level, border=0)
    code.add_data(text)
    try:
        code.best_fit(start=1)
    except DataOverflowError:
        if level == ERROR_CORRECT_M:
            raise
    return code


@lru_cache(maxsize=64)
def qr_matrix(text: str) -> Matrix:
    """Dark modules of the smallest QR code of level M that holds the text, without quiet zone.

    Where the same size has room for the stronger levels H or Q, they are taken: they cost nothing.

    Raises:
        RuleBroken: the text is empty or too long for one code.
    """
    if not text:
        raise RuleBroken("there is no text for the QR code", hint="give the lot its code first")
    try:
        code = _fitted(text, ERROR_CORRECT_M)
        for stronger in (ERROR_CORRECT_H, ERROR_CORRECT_Q):
            other = _fitted(text, stronger)
            if other.version == code.version:
                code = other
                break
        code.make(fit=False)
    except (DataOverflowError, ValueError) as err:
        raise RuleBroken(
            f"the QR text of {len(text)} characters is too long", hint="shorten the web address"
        ) from err
    return tuple(tuple(bool(cell) for cell in row) for row in code.get_matrix())


def module_mm(text: str, side_mm: float, *, dots_per_mm: float | None = None) -> float:
    """Module size with which the code and its quiet zone fill a square of that side.

    Args:
        text: what the code says.
        side_mm: side of the square, quiet zone included.
        dots_per_mm: of a roll printer; the module is then a whole number of dots.

    Raises:
        RuleBroken: the module would be under 0.33 mm; the message says what side is needed.
    """
    across = len(qr_matrix(text)) + 2 * QUIET_MODULES
    module = side_mm / across
    if dots_per_mm:
        module = floor(module * dots_per_mm + 1e-6) / dots_per_mm
    if module < MIN_MODULE_MM - 1e-9:
        need = across * MIN_MODULE_MM
        raise RuleBroken(
            f"the QR code needs a square of {need:.1f} mm and has {side_mm:.1f} mm",
            hint="shorten the web address, or take a bigger label",
        )
    return module


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


def draw_qr(canvas: Any, text: str, *, left_pt: float, top_pt: float, module_pt: float) -> None:
    """The code's dark modules as filled vector squares on a ReportLab canvas.

    Args:
        canvas: drawn on.
        text: what the code says.
        left_pt: left edge of the first module, points from the canvas's left.
        top_pt: top edge of the first module, points from the canvas's bottom.
        module_pt: side of a module.
    """
    path = canvas.beginPath()
    for column, row, columns, rows in runs(qr_matrix(text)):
        low = top_pt - (row + rows) * module_pt
        path.rect(left_pt + column * module_pt, low, columns * module_pt, rows * module_pt)
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
