"""The long looks at the page, as own commands; the suite holds a sample of each.

`python -m tests.page.whole eyes`: every page through axe-core and the ruler, light and dark.
`python -m tests.page.whole cuts [TIMES]`: days with a bad network until so many cuts happened, each
day's ledger compared with that of a day without cuts.
`python -m tests.page.whole pictures`: the kept screenshots of `labels/proofs/page` made anew.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from soapstock.upkeep.demo import build_demo
from tests.page.browser import browsing, paired
from tests.page.cuts import book, day, line_to, sent
from tests.page.eyes import axe_script, faults, pages
from tests.page.served import serving

KEPT = Path(__file__).parents[2] / "labels" / "proofs" / "page"
SHOWN = ("today", "batch curing", "form weigh", "market", "stock", "weigh at the pot")
SHOWN += ("before the lye", "trace")


def eyes(demo: Path) -> int:
    """Look at every page; how many have faults."""
    bad = 0
    with serving(demo) as served, browsing(600) as browser, paired(browser, served) as page:
        script, there = axe_script(), pages(served)
        for name, path in there.items():
            found = faults(page, served.address + path, script)
            bad += bool(found)
            print(f"{name}: {'; '.join(found) or 'clean'}")  # noqa: T201
    print(f"{len(there)} pages, {bad} with faults")  # noqa: T201
    return bad


def cuts(demo: Path, times: int) -> int:
    """Live through days with cuts; 0 when every ledger is that of a day without."""
    done, seed, plain = 0, 0, None
    while done < times:
        folder = demo.parent / f"day-{seed}"
        shutil.copytree(demo, folder)
        with (
            serving(folder) as served,
            browsing(300) as browser,
            paired(browser, served) as page,
            line_to(served, seed) as line,
        ):
            line.cutting = plain is not None
            day(page, line.address, served, 3)
            line.cutting = False
            sent(page, line.address)
            found = book(served)
            done += line.cuts
        if plain is None:
            plain = found
        if found != plain:
            print(f"seed {seed}: another ledger than without cuts")  # noqa: T201
            return 1
        seed += 1
        print(f"{seed} days, {done} cuts, the same {len(found)} facts")  # noqa: T201
    return 0


def pictures(demo: Path) -> int:
    """Make the kept screenshots anew."""
    KEPT.mkdir(exist_ok=True)
    with serving(demo) as served, browsing(200) as browser, paired(browser, served) as page:
        there = pages(served)
        for name in SHOWN:
            page.goto(served.address + there[name])
            _small(page.screenshot(), KEPT / f"{name.replace(' ', '-')}.png")
    return 0


def _small(png: bytes, path: Path) -> None:
    """Keep a picture with few colours, as a screen of plain surfaces has."""
    import io

    from PIL import Image

    with Image.open(io.BytesIO(png)) as shot:
        shot.convert("RGB").quantize(32, dither=Image.Dither.NONE).save(path, optimize=True)


def main(words: list[str]) -> int:
    """Run what is named."""
    what: dict[str, Any] = {"eyes": eyes, "pictures": pictures}
    with tempfile.TemporaryDirectory() as there:
        demo = Path(there) / "shop"
        build_demo(demo)
        if words[:1] == ["cuts"]:
            return cuts(demo, int(words[1]) if words[1:] else 200)
        return int(what[words[0]](demo))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
