"""The net weight check as a page of text."""

from __future__ import annotations

import textwrap

from soapstock.views.net_weight import WeightCheck, _word

PAGE_COLUMNS = 80


def record_text(check: WeightCheck, *, maker: str = "", by: str = "") -> str:
    """The check as a page to print, sign and keep: every figure, 80 columns."""
    width = 37
    head = {
        "hb133": "NIST Handbook 133, Category A",
        "reference": "EU and UK reference test",
    }
    lines = [
        f"NET WEIGHT CHECK  {check.on.isoformat()}  {maker}".rstrip(),
        f"{head[check.method]}; label: {check.label}; market {check.market}",
        "",
    ]
    for what, value in check.figures.items():
        lines += _wrapped(what, value, width)
    lines += ["", f"RESULT: the lot {_word(check.passes)}.", ""]
    lines += [f"Weighed by: {by or '____________________'}   Signed: ____________________", ""]
    lines.append("It helps you check; it is no official inspection and no legal advice.")
    return "\n".join(lines) + "\n"


def _wrapped(what: str, value: str, width: int) -> list[str]:
    rows = textwrap.wrap(value, PAGE_COLUMNS - width - 1) or [""]
    return [f"{what:<{width}} {rows[0]}", *(f"{'':<{width}} {row}" for row in rows[1:])]
