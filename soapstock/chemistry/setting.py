"""When a blend of fats begins to set: what is warmer than that stays clear.

Each fat sets from its own melting range, the less of it the later: its harder part is dissolved in
the others (ideal solubility, masses for moles). The blend begins with the fat that sets first. Fats
that set together spoil this, and a maker's fats differ, so that the width is wide on purpose.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from soapstock.chemistry.fats import Fat
from soapstock.tables import read_toml

_GAS_J_MOL_K = 8.314
_ZERO_C_K = 273.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """Where a blend begins to set as it cools, C.

    Attributes:
        low_c, high_c: it begins somewhere between them.
        by: the fat that sets first by the high end.
        unknown: fats whose melting range is in no table; they may set sooner.
    """

    low_c: float
    high_c: float
    by: str
    unknown: tuple[str, ...]


def begins_to_set(fats: Mapping[str, Fat], masses_g: Mapping[str, float]) -> Setting | None:
    """Where a blend begins to set, or None when no melting range of it is known."""
    table = read_toml("chemistry/setting.toml")
    total = sum(masses_g.values())
    low, high, unknown = [], [], []
    for key, mass_g in masses_g.items():
        known = fats[key].figure("melting_range") if key in fats else None
        if known is None or known.low is None or known.high is None:
            unknown.append(key)
        elif mass_g > 0:
            share = mass_g / total
            low.append(_diluted_c(known.low, share, float(str(table["fusion_kj_mol_low"]))))
            mine = _diluted_c(known.high, share, float(str(table["fusion_kj_mol_high"])))
            high.append((mine, key))
    if not high:
        return None
    top_c, by = max(high)
    return Setting(
        low_c=max(low) - float(str(table["undercooling_c"])),
        high_c=top_c,
        by=by,
        unknown=tuple(unknown),
    )


def _diluted_c(melts_c: float, share: float, fusion_kj_mol: float) -> float:
    """Where a fat of this share of the blend would begin to set, C."""
    at_k = melts_c + _ZERO_C_K
    inverse = 1.0 / at_k - _GAS_J_MOL_K * math.log(share) / (1000.0 * fusion_kj_mol)
    return 1.0 / inverse - _ZERO_C_K
