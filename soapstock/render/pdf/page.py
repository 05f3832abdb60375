"""A page with the origin at the top left, in millimetres: for the papers made for the workshop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from reportlab.lib.units import mm

from soapstock.errors import RuleBroken
from soapstock.render.pdf.fonts import REGULAR, Font, clean, get_font
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.qr import QUIET_MODULES, draw_qr, plan_qr, qr_matrix
from soapstock.render.pdf.text import Fitted, fit
from soapstock.units import MM_PER_PT

Align = Literal["left", "centre", "right"]
LEAST_PT = 8.0  # smallest type on workshop papers


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page of a PDF canvas.

    Attributes:
        canvas: the ReportLab canvas.
        width_mm: of the page.
        height_mm: of the page.
    """

    canvas: Any
    width_mm: float
    height_mm: float

    def text(
        self,
        text: str,
        box: Rect,
        *,
        size_pt: float,
        weight: str = REGULAR,
        least_pt: float = LEAST_PT,
        align: Align = "left",
        middle: bool = False,
        leading: float = 1.2,
        keep_lines: bool = False,
        white: bool = False,
    ) -> Fitted:
        """Text wrapped into the box at the largest size that fits; what was set.

        Raises:
            RuleBroken: it does not fit at the least size, or a character has no glyph.
        """
        font = get_font(weight)
        checked = clean(text, font, f"the text '{text[:30]}'")
        fitted = fit(
            checked,
            font,
            width_mm=box.width,
            height_mm=box.height,
            size_pt=size_pt,
            min_size_pt=min(least_pt, size_pt),
            leading=leading,
            keep_lines=keep_lines,
        )
        if fitted is None:
            raise RuleBroken(
                f"the text '{text[:60]}' does not fit its place on the paper", hint="shorten it"
            )
        self._set(fitted, font, box, align=align, middle=middle, white=white)
        return fitted

    def _set(
        self, fitted: Fitted, font: Font, box: Rect, *, align: Align, middle: bool, white: bool
    ) -> None:
        top = box.top + ((box.height - fitted.height_mm) / 2 if middle else 0.0)
        self.canvas.setFillGray(1 if white else 0)
        out = self.canvas.beginText()
        out.setFont(font.name, fitted.size_pt)
        for number, line in enumerate(fitted.lines):
            gap = box.width - font.width_mm(line, fitted.size_pt)
            left = box.left + {"left": 0.0, "centre": gap / 2, "right": gap}[align]
            baseline = top + font.ascent * fitted.size_pt * MM_PER_PT + number * fitted.leading_mm
            out.setTextOrigin(left * mm, (self.height_mm - baseline) * mm)
            out.textOut(line)
        self.canvas.drawText(out)

    def frame(self, box: Rect, *, line_mm: float = 0.25, shade: float | None = None) -> None:
        """An outline, filled with that grey (1 = white) when one is given; line 0 draws none."""
        if shade is not None:
            self.canvas.setFillGray(shade)
        self.canvas.setStrokeGray(0)
        self.canvas.setLineWidth(line_mm * mm)
        self.canvas.rect(
            box.left * mm,
            (self.height_mm - box.bottom) * mm,
            box.width * mm,
            box.height * mm,
            stroke=1 if line_mm else 0,
            fill=0 if shade is None else 1,
        )

    def line(self, left: float, top: float, right: float, *, line_mm: float = 0.25) -> None:
        """A level line."""
        self.canvas.setStrokeGray(0)
        self.canvas.setLineWidth(line_mm * mm)
        y = (self.height_mm - top) * mm
        self.canvas.line(left * mm, y, right * mm, y)

    def field(self, label: str, box: Rect, *, filled: str = "") -> None:
        """A box to write in with its small label on top; `filled` is printed in it."""
        self.frame(box)
        head = Rect(left=box.left + 1, top=box.top + 0.6, width=box.width - 2, height=4)
        self.text(label, head, size_pt=8.5, least_pt=7)
        if filled:
            body = Rect(
                left=box.left + 1, top=box.top + 4.2, width=box.width - 2, height=box.height - 4.7
            )
            self.text(filled, body, size_pt=13, weight="semibold", middle=True)

    def qr(self, text: str, box: Rect) -> None:
        """The code with its quiet zone, as large as the box allows. Raises RuleBroken."""
        plan = plan_qr(text, min(box.width, box.height))
        module, side = plan.module_mm, plan.side_mm
        left = box.left + (box.width - side) / 2 + QUIET_MODULES * module
        top = box.top + (box.height - side) / 2 + QUIET_MODULES * module
        draw_qr(
            self.canvas,
            qr_matrix(text, plan.level, plan.version),
            left_pt=left * mm,
            top_pt=(self.height_mm - top) * mm,
            module_pt=module * mm,
        )
