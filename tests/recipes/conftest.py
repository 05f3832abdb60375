"""Recipe texts the tests share: one by rule, one as a notebook has it."""

from __future__ import annotations

import pytest

RULE = """\
code = "DRF"
name = "Driftwood"
superfat_percent = 5
water = "2 per lye"
cure_days = 35
declared_weight = "113 g"
best_before_months = 18

[[fats]]
fat = "beef-tallow"
share_percent = 60

[[fats]]
fat = "olive"
share_percent = 40

[lye]
naoh_assay_percent = 98

[[additions]]
ingredient = "kaolin"
percent_of_fats = 1.0

[[additions]]
ingredient = "chlorophyll"
unmeasured = true
to_shade = "pale green"
colour = true

[bar]
shape = "brick"
length = "90 mm"
width = "60 mm"
height = "25 mm"
"""

NOTEBOOK = """\
code = "MST"
name = "Notebook page"

[[fats]]
fat = "beef-tallow"
mass = "900 g"

[[fats]]
fat = "coconut"
mass = "600 g"

[lye]
naoh_assay_percent = 98

[as_written]
naoh = "226 g"
water = "452 g"

[[additions]]
ingredient = "sea-salt"
mass = "20 g"
stage = "lye"
"""


@pytest.fixture
def rule_text() -> str:
    """A recipe by shares, superfat and water rule."""
    return RULE


@pytest.fixture
def notebook_text() -> str:
    """A recipe by masses, with lye and water stated."""
    return NOTEBOOK
