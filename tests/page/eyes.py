"""What axe-core, a ruler and the network's record say of a page; and the list of all pages.

Accessibility by axe-core (WCAG 2.2, levels A and AA, W3C 2023; the script is the package's own
copy); targets of 44 CSS px after WCAG 2.2 success criterion 2.5.5 (AAA, the stricter one).
"""

from __future__ import annotations

from typing import Any

from tests.page.served import Served
from tests.page.test_enter import lots
from tests.page.test_pot import plan

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
AXE = """async ([kind, values]) => {
  const found = await axe.run({ resultTypes: ["violations"], runOnly: { type: kind, values } });
  return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).join(" ")}`);
}"""
SMALL = """[...document.querySelectorAll("button, .button, input:not([type=hidden]), "
  + "select, summary, nav a, .list > li > a, a.code")].filter((one) => {
    const box = (one.closest(".tick") || one).getBoundingClientRect();
    return box.width > 0 && (box.height < 44 || box.width < 44);
  }).map((one) => one.outerHTML)"""


def pot_query(served: Served) -> str:
    """The address's query of a pour that is all weighed."""
    masses = "&".join(f"m.{key}={mass}" for key, mass in plan(served).items())
    return f"bars=6&ready=yes&pot={'0' * 32}&{masses}"


def pages(served: Served) -> dict[str, str]:
    """Every page there is, by state and form; each by a short name."""
    from soapstock.page.forms import FORMS

    states = ("in mould", "curing", "ready", "on hold")
    batches = {f"batch {s}": f"/lot/{lots(served, s)[0]}" for s in states}
    with served.site.open() as desk, desk.ledger.read() as reader:
        lye = next(lot for lot in reader.ingredient_lots() if lot.ingredient == "naoh")
    pot = pot_query(served)
    return {
        "today": "/",
        "stock": "/stock",
        **batches,
        "market": "/market?name=Quay",
        "shelf": "/shelf?place=rack",
        "ready for the pot": f"/pot/EBB?{pot}",
        "weigh at the pot": "/pot/EBB/coconut?bars=6&m.beef-tallow=4000",
        "before the lye": f"/pot/EBB/lye?{pot}",
        "weigh the lye": f"/pot/EBB/naoh?{pot}",
        "trace": f"/pot/EBB/end?{pot}",
        **{f"form {key}": f"{batches['batch curing']}/{key}" for key in FORMS},
        "scan": "/scan",
        "no such lot": "/scan?code=DRF",
        "begin a market": "/market",
        "shelves": "/shelf",
        "phones": "/phones",
        "pair": "/pair",
        "no page": "/nope",
        "lye": f"/lot/{lye.lot_code.shown}",
        "pour": "/pot",
    }


def axe_script() -> str:
    """axe-core, as its package brings it."""
    from axe_playwright_python.sync_playwright import Axe

    return str(Axe().axe_script)


def faults(page: Any, address: str, script: str) -> list[str]:
    """What is wrong with a page, in both schemes; all that folds is unfolded."""
    page.goto(address)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    page.evaluate(script)
    found = list(page.evaluate(AXE, ["tag", RULES]))
    page.emulate_media(color_scheme="dark")
    found += [f"dark: {one}" for one in page.evaluate(AXE, ["rule", ["color-contrast"]])]
    page.emulate_media(color_scheme="light")
    if (wide := page.evaluate("document.documentElement.scrollWidth")) > 360:
        found.append(f"{wide} px wide")
    return found + [f"small: {one}" for one in page.evaluate(SMALL)]
