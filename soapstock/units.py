"""The only place a quantity changes unit: masses, lengths, volumes, temperatures, percentages.

Masses are held exactly, as Decimal grams; the ledger stores whole milligrams.
Sources: 1959 international yard and pound agreement, 1 lb = 453.59237 g exactly (value from memory,
agrees with 16 CFR 500.19's 453.592); 1 in = 25.4 mm exactly (16 CFR 500.19).
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Mapping
from contextvars import ContextVar
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation

from soapstock.errors import BadInput

GRAMS_PER: dict[str, Decimal] = {
    "mg": Decimal("0.001"),
    "g": Decimal(1),
    "kg": Decimal(1000),
    "oz": Decimal("28.349523125"),
    "lb": Decimal("453.59237"),
}
MM_PER: dict[str, Decimal] = {"mm": Decimal(1), "cm": Decimal(10), "in": Decimal("25.4")}
POINTS_PER_INCH = 72  # PostScript points, as in PDF
MM_PER_PT = float(MM_PER["in"]) / POINTS_PER_INCH
ML_PER: dict[str, Decimal] = {
    "ml": Decimal(1),
    "l": Decimal(1000),
    "cm3": Decimal(1),
    "in3": Decimal("16.387064"),
    "floz": Decimal("29.5735295625"),
}
_ALIASES = {
    "gram": "g",
    "grams": "g",
    "kilo": "kg",
    "kilos": "kg",
    "ounce": "oz",
    "ounces": "oz",
    "pound": "lb",
    "pounds": "lb",
    "lbs": "lb",
    "litre": "l",
    "liter": "l",
    "cc": "cm3",
    "inch": "in",
    "inches": "in",
}
_PART = re.compile(r"\s*([+-]?[0-9.,]+(?:[eE][+-]?[0-9]+)?)\s*((?:cm|in)3|[A-Za-z]*)")
MAX_GRAMS = Decimal(10_000_000)  # ten tonnes: above it the figure is a slip, not a pour


def _number(text: str, what: str, whole: str) -> Decimal:
    if "," in text:
        raise BadInput(f"{what} '{whole}' has a comma", hint="write decimals with a point: 1.5")
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise BadInput(f"{what} '{whole}' is not a number", hint="write it like 1320 g") from None
    if not value.is_finite():
        raise BadInput(f"{what} '{whole}' is not a number")
    return value


def _parse(text: str, table: dict[str, Decimal], what: str) -> Decimal:
    units = ", ".join(table)
    rest, total, found = text.strip(), Decimal(0), False
    if not rest or len(rest) > 60:
        raise BadInput(f"{what} '{text[:60]}' is empty or too long", hint=f"units: {units}")
    while rest:
        match = _PART.match(rest)
        if not match:
            raise BadInput(f"{what} '{text}' is not understood", hint=f"units: {units}")
        number, unit = _number(match[1], what, text), match[2].lower()
        unit = _ALIASES.get(unit, unit)
        if unit not in table:
            lacks = f"has no unit we know ('{match[2]}')" if unit else "has no unit"
            raise BadInput(f"{what} '{text}' {lacks}", hint=f"units: {units}; for example 1320g")
        if number < 0:
            raise BadInput(f"{what} '{text}' is negative", hint="give zero or more")
        total, found, rest = total + number * table[unit], True, rest[match.end() :]
    if not found:
        raise BadInput(f"{what} '{text}' is not understood", hint=f"units: {units}")
    return total


def parse_mass_g(text: str, what: str = "mass") -> Decimal:
    """Grams of a mass written with its unit, such as `1320g`, `2.5 kg`, `4 oz`, `2lb 4oz`.

    Args:
        text: number and unit (mg, g, kg, oz, lb); several parts add up.
        what: how to call the value in an error.

    Raises:
        BadInput: no unit, unknown unit, negative, not a number, or beyond ten tonnes.

    >>> parse_mass_g("4 oz")
    Decimal('113.398092500')
    """
    grams = _parse(text, GRAMS_PER, what)
    if grams > MAX_GRAMS:
        raise BadInput(f"{what} '{text}' is over ten tonnes", hint="check the unit")
    return grams


def parse_length_mm(text: str, what: str = "length") -> Decimal:
    """Millimetres of a length such as `90 mm`, `9cm`, `3.5 in`. Raises BadInput."""
    return _parse(text, MM_PER, what)


def parse_volume_ml(text: str, what: str = "volume") -> Decimal:
    """Millilitres of a volume such as `1.8 l`, `1800 ml`, `110 in3`. Raises BadInput."""
    return _parse(text, ML_PER, what)


def parse_temperature_c(text: str, what: str = "temperature") -> float:
    """Degrees Celsius of a temperature such as `38C`, `100 F`. Raises BadInput."""
    match = re.fullmatch(r"\s*([+-]?[0-9.]+)\s*°?\s*([CcFf])\s*", text)
    if not match:
        raise BadInput(f"{what} '{text}' is not understood", hint="write it like 38C or 100F")
    value = float(_number(match[1], what, text))
    return value if match[2] in "Cc" else (value - 32.0) / 1.8


def dots_per_mm(dpi: float) -> float:
    """Dots a millimetre of a printer or picture with so many dots an inch."""
    return dpi / float(MM_PER["in"])


def mg_from_g(grams: Decimal) -> int:
    """Whole milligrams of a mass in grams, rounded half to even."""
    return int((grams * 1000).to_integral_value(rounding=ROUND_HALF_EVEN))


def g_from_mg(milligrams: int) -> Decimal:
    """Grams, exact, of a mass in milligrams."""
    return Decimal(milligrams) / 1000


def grams(milligrams: float) -> float:
    """Grams of a mass in milligrams, as physics reckons with it."""
    return milligrams / 1000


def kilograms(grams: Decimal) -> Decimal:
    """Kilograms, exact, of a mass in grams."""
    return grams / 1000


def format_kg(mass_g: float) -> str:
    """A mass in grams for people in kilograms, such as `1.3 kg`."""
    return f"{mass_g / 1000:.1f} kg"


def fahrenheit(degrees_c: float) -> float:
    """Degrees Fahrenheit of a temperature in degrees Celsius."""
    return degrees_c * 1.8 + 32.0


def round_to_step(value: Decimal | float, step: Decimal) -> Decimal:
    """The value rounded half to even to a whole number of scale steps."""
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    return (exact / step).to_integral_value(rounding=ROUND_HALF_EVEN) * step


DAY_ORDERS: Mapping[str, tuple[int, int, int]] = {  # where year, month and day stand
    "iso": (0, 1, 2),
    "mdy": (2, 0, 1),
    "dmy": (2, 1, 0),
}
_DAY_PARTS = re.compile(r"(\d{4}|\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})")


def read_day(text: str, order: str = "iso") -> date:
    """A day as ISO 8601 has it, or with its parts in another order: `mdy`, `dmy`.

    Raises:
        ValueError: it is neither, or no such day.

    >>> read_day("2026-11-25", "mdy"), read_day("11/25/26", "mdy")
    (datetime.date(2026, 11, 25), datetime.date(2026, 11, 25))
    """
    plain = text.strip()
    found = _DAY_PARTS.fullmatch(plain)
    if order == "iso" or found is None or len(found[1]) == 4:
        return date.fromisoformat(plain)
    year, month, day = (int(found[1 + at]) for at in DAY_ORDERS[order])
    return date(year + 2000 if year < 100 else year, month, day)


def read_best_before(text: str, order: str = "iso") -> date:
    """A day as read_day takes it, or a month as packages have it, which ends with its last day.

    Raises:
        ValueError: it is neither.

    >>> read_best_before("2027-09"), read_best_before("02/2028"), read_best_before("2027-09-12")
    (datetime.date(2027, 9, 30), datetime.date(2028, 2, 29), datetime.date(2027, 9, 12))
    """
    found = re.fullmatch(r"(\d{4})-(\d{2})|(\d{1,2})[/.](\d{4})", text.strip())
    if found is None:
        return read_day(text, order)
    year, month = int(found[1] or found[4]), int(found[2] or found[3])
    return date(year, month, monthrange(year, month)[1])


def day_words(day: date | None, today: date) -> str:
    """A date for people, such as `5 Dec`; with the year when it is not near; empty for none.

    >>> day_words(date(2026, 12, 5), date(2026, 11, 25))
    '5 Dec'
    >>> day_words(date(2027, 12, 5), date(2026, 11, 25))
    '5 Dec 2027'
    """
    if day is None:
        return ""
    text = f"{day.day} {day:%b}"
    return text if abs((day - today).days) < 180 else f"{text} {day.year}"


def several(number: int, noun: str) -> str:
    """A count with its noun: `1 bar`, `9 bars`; the noun takes s, es or ies.

    >>> several(1, "batch"), several(2, "batch"), several(2, "entry")
    ('1 batch', '2 batches', '2 entries')
    """
    if number == 1:
        return f"1 {noun}"
    if noun.endswith("y") and noun[-2] not in "aeo":
        return f"{number} {noun[:-1]}ies"
    return f"{number} {noun}{'es' if noun.endswith(('ch', 's', 'x')) else 's'}"


def format_g(grams: Decimal | float, decimals: int | None = None) -> str:
    """A mass for people, such as `1320 g` or `0.35 g`; trailing zeros dropped by default."""
    value = grams if isinstance(grams, Decimal) else Decimal(repr(float(grams)))
    if decimals is not None:
        return f"{value:.{decimals}f} g"
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return f"{text or '0'} g"


_pounds_too: ContextVar[bool] = ContextVar("pounds_too", default=False)


def say_pounds_too(wanted: bool) -> None:
    """From here on say masses in pounds and temperatures in °F as well, as a shop wants it."""
    _pounds_too.set(wanted)


def pounds_too() -> bool:
    """Whether the shop wants masses in pounds as well."""
    return _pounds_too.get()


def mass_words(grams: Decimal | float, decimals: int | None = None) -> str:
    """A mass for people as format_g has it, in pounds and ounces too when the shop wants them.

    >>> say_pounds_too(True)
    >>> mass_words(Decimal("27215.542")), mass_words(1320, 0), mass_words(187.5)
    ('27215.542 g (60 lb)', '1320 g (2 lb 14.56 oz)', '187.5 g (6.61 oz)')
    >>> say_pounds_too(False)
    """
    text = format_g(grams, decimals)
    return f"{text} ({pounds_words(grams)})" if _pounds_too.get() else text


def pounds_words(grams: Decimal | float) -> str:
    """A mass in pounds and ounces, to a hundredth of an ounce.

    >>> pounds_words(Decimal("453.59237")), pounds_words(453.5)
    ('1 lb', '1 lb')
    """
    exact = grams if isinstance(grams, Decimal) else Decimal(repr(float(grams)))
    hundredths = int((100 * exact / GRAMS_PER["oz"]).to_integral_value(rounding=ROUND_HALF_EVEN))
    pounds, rest = divmod(hundredths, 1600)
    ounces = f"{Decimal(rest) / 100:f} oz"
    return " ".join([f"{pounds} lb"] * bool(pounds) + [ounces] * bool(rest or not pounds))


def thermometer(degrees_c: float) -> tuple[float, str]:
    """A temperature as the shop's own thermometer shows it, and its unit: °F or °C."""
    return (fahrenheit(degrees_c), "°F") if _pounds_too.get() else (degrees_c, "°C")


def degrees(degrees_c: float, decimals: int = 0) -> str:
    """A temperature for people, in °F too when the shop wants it.

    >>> degrees(37.8)
    '38 °C'
    """
    text = f"{degrees_c:.{decimals}f} °C"
    return f"{text} ({fahrenheit(degrees_c):.0f} °F)" if _pounds_too.get() else text


def quantity_words(quantity: int, unit: str) -> str:
    """A quantity of the ledger for people, such as `12 bars` or, of `mg`, `1500 g`."""
    return format_g(g_from_mg(quantity)) if unit == "mg" else several(quantity, "bar")
