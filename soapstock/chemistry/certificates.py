"""Saponification values from a lot's certificate instead of the table."""

from __future__ import annotations

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


def wet_sv(sv: Interval, moisture_percent: float) -> Interval:
    """SV of a fat as weighed with water in it, from the SV of the dry fat: water is inert.

    Raises:
        BadInput: moisture not 0 to below 100.
    """
    if not 0.0 <= moisture_percent < PERCENT:
        raise BadInput(f"moisture {moisture_percent:g} % is not 0 to below 100")
    dry = 1.0 - moisture_percent / PERCENT
    return Interval(low=sv.low * dry, nominal=sv.nominal * dry, high=sv.high * dry)
