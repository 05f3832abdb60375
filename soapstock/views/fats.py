"""Fats as the tables and the shop know them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.chemistry.profiles import iodine_value, profiles_of, saponification_value

if TYPE_CHECKING:
    from soapstock.chemistry.fats import Fat, SourcedRange


def list_fats() -> list[dict[str, Any]]:
    """One row a fat: key, name, SV range, its confidence, label names."""
    return [
        {
            "fat": fat.key,
            "name": fat.trade_name,
            "sv_low": fat.sv.low,
            "sv_high": fat.sv.high,
            "confidence": fat.sv_confidence,
            "inci": fat.inci,
            "sodium_salt": fat.sodium_salt,
        }
        for fat in all_fats().values()
    ]


def fat_record(key: str) -> dict[str, Any]:
    """All that is known of one fat.

    Raises:
        NotFound: no such fat; offers the nearest.
    """
    fat = get_fat(key.strip().lower())
    return {
        "fat": fat.key,
        "name": fat.trade_name,
        "kind": fat.kind,
        "inci": fat.inci,
        "inci_us": fat.inci_us,
        "sodium_salt": fat.sodium_salt,
        "potassium_salt": fat.potassium_salt,
        "names_confidence": fat.names_confidence,
        "sv": fat.sv.as_dict(),
        "figures": [_range_record(row) for row in (*fat.sv_ranges, *fat.figures)],
        "profiles": _profile_records(fat),
        "note": fat.note,
    }


def _range_record(row: SourcedRange) -> dict[str, Any]:
    return {
        "figure": row.figure,
        "low": row.low,
        "high": row.high,
        "unit": row.unit,
        "source": row.source,
        "confidence": row.confidence,
        "chosen": row.chosen,
        "why": row.why,
    }


def _profile_records(fat: Fat) -> list[dict[str, Any]]:

    records = []
    for profile in profiles_of(fat.key):
        fractions = profile.fractions()
        records.append(
            {
                "profile": profile.label,
                "acids_percent": {acid: list(ends) for acid, ends in profile.ranges.items()},
                "computed_sv": saponification_value(fractions),
                "computed_iodine_value": iodine_value(fractions),
                "source": profile.source,
                "confidence": profile.confidence,
            }
        )
    return records
