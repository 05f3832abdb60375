"""How many bars to have for one market, against a published worked answer.

A demand of mean 150 and sd 25 (normal), critical ratio 0.80: 171 (worked answer of an operations
course, read; recomputed: 150 + 0.8416 x 25 = 171.04). Order quantities (EOQ) and reorder points
are reckoned nowhere in this program: a level is the maker's own figure.
"""

from __future__ import annotations

import numpy as np
from scipy import stats

from soapstock.planning.demand import Demand


def test_normal_demand_at_eighty_percent() -> None:
    """A bar that sells for 5 and costs 1 is worth having while it sells with more than 1 in 5."""
    bars = np.arange(1, 400)
    asked = Demand(sure=0, chance_at_least=stats.norm(150, 25).sf(bars))
    assert asked.at_chance(1 - 1.0 / 5.0) == 171
