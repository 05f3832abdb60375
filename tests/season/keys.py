"""Keys a maker types for everyday jobs, before and now, counted from the played season.

python -m tests.season.keys
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from tests.season.played import Act, play, shop_in

# Keys with Enter that the same jobs took at commit 9366025, counted in a season lived by hand;
# and the most they may take now.
JOBS: Mapping[str, tuple[int, int]] = {
    "weekly weigh-in of 6": (270, 54),
    "delivery of 5": (550, 160),
    "test and release of 5": (525, 105),
    "market day, 12 bars of 4 kinds": (715, 60),
    "8 web orders": (1690, 338),
    "a mis-shipped order": (290, 50),
    "a weigh-in mistyped": (80, 20),
    "what do I do today?": (98, 16),
}


def table(acts: Mapping[str, Act]) -> str:
    """The table as text."""
    lines = [f"{'job':32}{'commands':>9}{'before':>8}{'now':>6}{'share':>7}"]
    for name, (before, _) in JOBS.items():
        act = acts[name]
        share = f"{100 * act.keys / before:.0f} %"
        lines.append(f"{name:32}{act.commands:>9}{before:>8}{act.keys:>6}{share:>7}")
    return "\n".join(lines)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        sys.stdout.write(table(play(shop_in(Path(folder) / "shop")).acts) + "\n")
