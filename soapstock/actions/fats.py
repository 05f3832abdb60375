"""Looking up fats: what is known of each, from which source, and the shop's own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from soapstock.chemistry.fats import Fat, SourcedRange

OWN_FILE = "fats.toml"


def load_own_fats(folder: Path | None) -> int:
    """Make the fats of a shop's `fats.toml` known, if it has one; returns how many.

    Raises:
        BadInput: the file is wrong; names line and field.
    """
    from soapstock.chemistry.fats import use_own_fats

    path = None if folder is None else folder / OWN_FILE
    if path is None or not path.is_file():
        use_own_fats(())
        return 0
    from soapstock.recipes.own_fats import read_own_fats
    from soapstock.shop import read_toml_file

    text, _ = read_toml_file(path, "fats")
    fats = read_own_fats(text, str(path))
    use_own_fats(fats)
    return len(fats)


def list_fats() -> list[dict[str, Any]]:
    """One row a fat: key, name, SV range, its confidence, label names."""
    from soapstock.chemistry.fats import all_fats

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
    from soapstock.chemistry.fats import get_fat

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
    from soapstock.chemistry.profiles import iodine_value, profiles_of, saponification_value

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
