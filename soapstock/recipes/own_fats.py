"""A shop's own fats, read from its `fats.toml`.

```toml
[[fats]]
key = "goose-own"
name = "Goose fat, own"
inci = "Goose Fat"
sv_low = 191
sv_high = 198
source = "own titration of 2026-03, three samples"
```
Optional: `sodium_salt`, `potassium_salt`, `inci_us`, `kind` (glyceride, wax or acid), `note`, and
`acid_value` (mg KOH/g) and `moisture_percent` of the fat as weighed, which the SV already counts.
A key of the program's own list replaces that list's fat: the shop's figures and names stand.
"""

from __future__ import annotations

import re

from soapstock.chemistry.fats import Fat, SourcedRange
from soapstock.chemistry.interval import Interval
from soapstock.tables import read_toml
from soapstock.tables.fields import Fields, Source

KEYS = (
    "key",
    "name",
    "inci",
    "inci_us",
    "sodium_salt",
    "potassium_salt",
    "sv_low",
    "sv_high",
    "source",
    "kind",
    "note",
    "acid_value",
    "moisture_percent",
)
SV_LEAST, SV_MOST = 50.0, 400.0  # beyond any fat, wax or acid
WETTEST_PERCENT = 20.0  # above it the figure is a slip, or not yet rendered


def read_own_fats(text: str, where: str) -> tuple[Fat, ...]:
    """The fats of a shop's file.

    Args:
        text: the file's text.
        where: what to call it in an error.

    Raises:
        BadInput: anything wrong; names file, line if found, and field.
    """
    source = Source(text=text, where=where)
    top = Fields(source, "", source.load(), ("fats",))
    fats: list[Fat] = []
    for fields in top.rows("fats", KEYS):
        fat = _own_fat(fields)
        if fat.key in [other.key for other in fats]:
            raise fields.fail("key", f"'{fat.key}' stands twice")
        fats.append(fat)
    return tuple(fats)


def _own_fat(fields: Fields) -> Fat:
    key = fields.text("key")
    if not re.fullmatch(r"[a-z]+(-[a-z]+)*", key):
        raise fields.fail("key", f"'{key}' is not a plain key", 'small letters and hyphens: "emu"')
    low = fields.number("sv_low", SV_LEAST, SV_MOST)
    high = fields.number("sv_high", SV_LEAST, SV_MOST)
    if low > high:
        raise fields.fail("sv_high", f"{high:g} is below sv_low {low:g}", "swap the two")
    half = float(read_toml("chemistry/certificate.toml")["tolerance_mg_koh_g"])
    if high - low < 2.0 * half:
        raise fields.fail(
            "sv_high",
            f"{low:g} to {high:g} is narrower than two laboratories differ",
            f"write {half:g} below and {half:g} above the paper's figure",
        )
    source, name, inci = fields.text("source"), fields.text("name"), fields.text("inci")
    chosen = SourcedRange(
        figure="saponification_value",
        low=low,
        high=high,
        unit="mg KOH/g",
        source=source,
        confidence="shop",
        chosen=True,
        why="the shop's own file",
    )
    return Fat(
        key=key,
        trade_name=name,
        common_name=name,
        inci=inci,
        inci_us=fields.text("inci_us", inci),
        sodium_salt=fields.text("sodium_salt", "") or None,
        potassium_salt=fields.text("potassium_salt", "") or None,
        sv=Interval.between(low, high),
        sv_source=source,
        sv_confidence="shop",
        kind=fields.choice("kind", ("glyceride", "wax", "acid"), "glyceride"),
        note=fields.text("note", ""),
        acid_value=fields.number("acid_value", 0.0, low) if fields.has("acid_value") else 0.0,
        moisture_percent=(
            fields.number("moisture_percent", 0.0, WETTEST_PERCENT)
            if fields.has("moisture_percent")
            else 0.0
        ),
        names_confidence="shop",
        sv_ranges=(chosen,),
    )
