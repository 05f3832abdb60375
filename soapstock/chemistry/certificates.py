"""Saponification values from a lot's certificate instead of the table."""

from __future__ import annotations

import re

from soapstock.chemistry import molar
from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput
from soapstock.tables import read_toml

PERCENT = 100.0


def certificate_sv(value: float, tolerance: float | None = None) -> Interval:
    """Interval of a lot's measured SV, mg KOH/g.

    Args:
        value: SV on the certificate.
        tolerance: its own tolerance, mg KOH/g either way; None takes the setting.

    Raises:
        BadInput: a value or tolerance that no fat has.
    """
    rules = read_toml("chemistry/certificate.toml")
    half = float(rules["tolerance_mg_koh_g"]) if tolerance is None else tolerance
    if not float(rules["least_sv"]) <= value <= float(rules["most_sv"]):
        raise BadInput(f"SV {value:g} mg KOH/g is no fat's", hint="check the unit: mg KOH per g")
    if not 0.0 <= half < value:
        raise BadInput(f"SV tolerance {half:g} is not zero or more and below the SV")
    return Interval(low=value - half, nominal=value, high=value + half)


def read_sv(text: str) -> Interval:
    """The interval of a certificate's SV as people write it: `196`, `196±1` or `194-198`.

    Raises:
        BadInput: another form, or a value that no fat has.
    """
    number = r"(\d{2,3}(?:\.\d+)?)"
    span = re.fullmatch(rf"\s*{number}\s*-\s*{number}\s*", text)
    spread = re.fullmatch(rf"\s*{number}\s*(?:(?:±|\+/-|\+-)\s*(\d+(?:\.\d+)?)\s*)?", text)
    if span and float(span[1]) <= float(span[2]):
        low, high = float(span[1]), float(span[2])
        return certificate_sv((low + high) / 2, (high - low) / 2)
    if spread:
        return certificate_sv(float(spread[1]), float(spread[2]) if spread[2] else None)
    raise BadInput(f"certificate SV '{text}' is not understood", hint="write 196, 196±1 or 194-198")


def doubt_about(stated: Interval, usual: Interval) -> str:
    """Why a certificate's SV may be wrong for its fat, or "" when it is near the published range.

    Args:
        stated: the certificate's SV, mg KOH/g.
        usual: the fat's published range, mg KOH/g.
    """
    share = float(read_toml("chemistry/certificate.toml")["far_percent"]) / PERCENT
    if usual.low * (1 - share) <= stated.nominal <= usual.high * (1 + share):
        return ""
    as_koh = stated.nominal * molar.KOH / molar.NAOH
    said = f"the table has {usual.low:g} to {usual.high:g} mg KOH/g"
    if usual.low * (1 - share) <= as_koh <= usual.high * (1 + share):
        said += f"; {stated.nominal:g} in mg NaOH/g would be {as_koh:.1f} mg KOH/g"
    return said


def wet_sv(sv: Interval, moisture_percent: float) -> Interval:
    """SV of a fat as weighed with water in it, from the SV of the dry fat: water is inert.

    Raises:
        BadInput: moisture not 0 to below 100.
    """
    if not 0.0 <= moisture_percent < PERCENT:
        raise BadInput(f"moisture {moisture_percent:g} % is not 0 to below 100")
    dry = 1.0 - moisture_percent / PERCENT
    return Interval(low=sv.low * dry, nominal=sv.nominal * dry, high=sv.high * dry)
