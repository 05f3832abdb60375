"""Saponification values from a lot's certificate instead of the table."""

from __future__ import annotations

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


def wet_sv(sv: Interval, moisture_percent: float) -> Interval:
    """SV of a fat as weighed with water in it, from the SV of the dry fat: water is inert.

    Raises:
        BadInput: moisture not 0 to below 100.
    """
    if not 0.0 <= moisture_percent < PERCENT:
        raise BadInput(f"moisture {moisture_percent:g} % is not 0 to below 100")
    dry = 1.0 - moisture_percent / PERCENT
    return Interval(low=sv.low * dry, nominal=sv.nominal * dry, high=sv.high * dry)


def sv_from_titration(
    *, blank_ml: float, sample_ml: float, acid_mol_l: float, fat_g: float
) -> float:
    """Saponification value, mg KOH/g, of a maker's own titration.

    Args:
        blank_ml: acid used by the blank, mL.
        sample_ml: acid used by the sample, mL.
        acid_mol_l: strength of the hydrochloric acid, mol/L.
        fat_g: mass of the fat, g.

    Source: ISO 3657, SV = M(KOH) x c x (blank - sample) / m.

    Raises:
        BadInput: nothing weighed, no acid, or a sample that took more acid than the blank.
    """
    if fat_g <= 0.0 or acid_mol_l <= 0.0:
        raise BadInput("a titration needs fat and acid above zero")
    if not 0.0 <= sample_ml < blank_ml:
        raise BadInput(f"the sample's {sample_ml:g} mL is not below the blank's {blank_ml:g} mL")
    return molar.KOH * acid_mol_l * (blank_ml - sample_ml) / fat_g
