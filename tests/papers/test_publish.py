"""The public pages: what they tell, what they never tell, and what a second run writes."""

import io
import json
import re
from dataclasses import replace
from urllib.parse import urljoin, urlsplit

import html5lib
import networkx
import pytest
from PIL import Image

from soapstock.codes.reading import qr_text, read_code
from soapstock.enter import batch as enter_batch
from soapstock.enter import decide, move, undo
from soapstock.enter import recall as enter_recall
from soapstock.enter.photo import add_photo
from soapstock.errors import BadInput, RuleBroken
from soapstock.papers.publish import RECORD, publish
from soapstock.shop import Pages
from soapstock.views.batch import views
from soapstock.views.label import label_text

GTINS = {"DRF": "06291041500213"}
MOST_BYTES = 30_000  # asked for each page


def with_shop(desk, **settings):
    """The desk of the same shop with other settings."""
    return replace(desk, shop=replace(desk.shop, **settings))


def pages_in(folder):
    """Every page by its path."""
    return {str(p.relative_to(folder)): p.read_text() for p in folder.rglob("*.html")}


def released(desk):
    """A lot that may be sold, with bars here."""
    return next(v for v in views(desk) if v.readiness.state == "ready" and v.bars > 2)


@pytest.fixture
def site(tmp_path):
    """Where the pages go."""
    return tmp_path / "site"


@pytest.mark.parametrize("gtins", [{}, GTINS], ids=["plain links", "product number"])
def test_each_label_leads_to_its_page(desk, site, gtins):
    """The path in the code of a label is a page here, and it names that lot.

    Forms of the link: GS1 Digital Link URI Syntax 1.2 (2021), /01/GTIN/10/LOT; ours, /lot/LOT.
    """
    desk = with_shop(desk, gtins=gtins)
    publish(desk, site)
    told = 0
    for item in views(desk):
        facts = item.facts
        link = qr_text(facts.lot_code, desk.shop.web, gtins.get(facts.recipe_code))
        page = site / urlsplit(link).path.strip("/") / "index.html"
        if any(d.decision == "release" for d in facts.decisions):
            assert facts.lot_code.shown in page.read_text()
            assert read_code(link) == facts.lot_code
            told += 1
    assert told > 3


@pytest.mark.parametrize("market", ["us-soap", "us-cosmetic", "eu", "uk", "ca"])
def test_ingredients_are_word_for_word_those_of_the_label(desk, site, market):
    """The page and the label of a lot carry one list."""
    desk = with_shop(desk, market=market)
    publish(desk, site)
    seen = 0
    for path in site.glob("lot/*/index.html"):
        tree = html5lib.parse(path.read_text(), namespaceHTMLElements=False)
        texts = {"".join(p.itertext()) for p in tree.iter("p")}
        item = next(v for v in views(desk) if str(v.facts.lot_code) == path.parent.name)
        if any(d.decision == "release" for d in item.facts.decisions):
            language = "en-fr" if market == "ca" else "en"
            label = label_text(desk, item.facts.lot_code, market=market, language=language)
            assert label.declaration.text in texts
            seen += 1
    assert seen > 3


def test_a_page_tells_nothing_of_people_suppliers_money_or_notes(desk, site):
    """No text of a customer, supplier, cost or note stands in any byte written."""
    lot = released(desk)
    move.ship(
        desk,
        lot.facts.lot_code,
        1,
        customer="Zzyzx Quill",
        destination="9 Vole Row",
        note="porch kept dry",
        order_ref="VOLE-9",
    )
    enter_batch.weigh(desk, lot.facts.lot_code, 1, "112g", note="wet thumb")
    with desk.ledger.read() as reader:
        lots, orders = reader.ingredient_lots(), reader.orders()
        notes = {e.note for e in reader.entries()} | {e.by for e in reader.entries()}
        sent = reader.shipments()
    publish(with_shop(desk, pages=Pages(farm_fat=True, stock=True)), site)
    secret = {"Zzyzx Quill", "9 Vole Row", "porch kept dry", "VOLE-9", "wet thumb"} | notes
    secret |= {text for x in lots for text in (x.supplier, x.supplier_lot, x.animal)}
    secret |= {
        x for o in orders for x in (o.customer, o.order_ref, o.contact, o.ship_to, o.destination)
    }
    secret |= {s.customer for s in sent} | {
        f"{x.cost_cents / 100:.2f}" for x in lots if x.cost_cents
    }
    written = b"".join(p.read_bytes() for p in site.rglob("*") if p.is_file()).decode()
    assert len(secret) > 30
    for text in (one for one in secret if len(one) > 3):
        assert text not in written, text


def test_every_page_is_sound_light_and_fetches_nothing(desk, site):
    """Parsed by html5lib (WHATWG rules) without an error; every link leads to a page here."""
    shop = Pages(languages=("en", "fr", "de", "es", "nl"), farm_fat=True)
    desk = with_shop(desk, gtins=GTINS, pages=shop)
    lot = released(desk).facts.lot_code
    enter_recall.recall(
        desk, lot, clock=lambda: 0.0, hold=True, why="x", hazard="<b>Free & lye</b>"
    )
    publish(desk, site)
    for path, text in pages_in(site).items():
        parser = html5lib.HTMLParser(namespaceHTMLElements=False)
        tree = parser.parse(text.encode())
        assert parser.errors == [], path
        assert len(text.encode()) <= MOST_BYTES, path
        assert not list(tree.iter("script")) + list(tree.iter("link")) + list(tree.iter("img"))
        assert "url(" not in text
        assert "<b>Free" not in text
        for link in tree.iter("a"):
            target = urljoin("/" + path, link.get("href"))
            assert (site / target.lstrip("/")).is_file(), (path, target)


def test_only_what_changed_is_written_and_it_equals_a_full_run(desk, site, tmp_path):
    """After each entry the folder holds what a run from nothing would write."""
    publish(desk, site)
    assert publish(desk, site).written == ()
    lot = released(desk).facts.lot_code
    steps = [
        lambda: enter_batch.weigh(desk, lot, 1, "112g"),
        lambda: decide.decide(desk, lot, "hold", "smells odd"),
        lambda: undo.undo(desk, _last(desk), "it was the cat"),
        lambda: enter_recall.recall(desk, lot, clock=lambda: 0.0, hold=True, why="lye found"),
        lambda: undo.undo(desk, _last(desk), "wrong lot"),
    ]
    for n, step in enumerate(steps):
        step()
        done = publish(desk, site)
        again = tmp_path / f"again{n}"
        publish(desk, again)
        assert pages_in(site) == pages_in(again), n
        assert f"lot/{lot}/index.html" in done.written
        assert len(done.written) < len(pages_in(site))


def _last(desk):
    with desk.ledger.read() as reader:
        return reader.head()[0]


def test_looking_first_writes_nothing_and_tells_what_a_recall_would_change(desk, site):
    """The check names exactly the pages that the recall then writes."""
    publish(desk, site)
    before = pages_in(site)
    lot = released(desk).facts.lot_code
    would = publish(desk, site, check=True, if_recalled=lot)
    assert pages_in(site) == before
    enter_recall.recall(desk, lot, clock=lambda: 0.0, hold=True, why="lye found")
    assert set(publish(desk, site).written) == set(would.written)


def test_a_notice_stands_on_the_pages_of_all_that_was_made_of_the_lot(desk, site):
    """The closure of the recalled lot, walked by networkx over every use on record."""
    with desk.ledger.read() as reader:
        oil = max(
            reader.ingredient_lots("olive"), key=lambda x: len(reader.follow(x.lot_code).forward)
        )
        uses = networkx.DiGraph(
            (use.lot_code, batch.lot_code) for batch in reader.batches() for use in batch.pour.uses
        )
    reached = networkx.descendants(uses, oil.lot_code)
    enter_recall.recall(
        desk,
        oil.lot_code,
        clock=lambda: 0.0,
        hold=True,
        why="supplier's word",
        hazard="The oil was not olive oil.",
        remedy="We send other bars.",
    )
    publish(desk, site)
    noted = {p for p, text in pages_in(site).items() if "The oil was not olive oil." in text}
    assert noted == {f"lot/{code}/index.html" for code in reached} | {"recalls/index.html"}
    # Regulation (EU) 2023/988 Art. 36(2) as two law notes of 2024 give it: headline, what the
    # product is with its lot, the hazard, what to do, the remedy; 16 CFR 1115.27 (from memory):
    # also how many were sold and when, and whom to reach.
    notice = (site / "recalls/index.html").read_text()
    for words in (
        "Product safety recall",
        "Stop using",
        "The oil was not olive oil.",
        "We send other bars.",
        desk.shop.contact,
        "Bars that left us:",
        *(code.shown for code in reached),
    ):
        assert words in notice


def test_a_notice_may_not_play_its_hazard_down(desk):
    """Regulation (EU) 2023/988 Art. 36(2)(c)."""
    lot = released(desk).facts.lot_code
    with pytest.raises(RuleBroken, match="voluntary"):
        enter_recall.recall(
            desk, lot, clock=lambda: 0.0, hold=True, why="x", hazard="A Voluntary measure"
        )
    with pytest.raises(BadInput, match="in earnest"):
        enter_recall.recall(desk, lot, clock=lambda: 0.0, hazard="It burns")


def test_unreleased_lots_have_no_page_and_held_ones_say_so(desk, site):
    """What may not be sold is told no further than that."""
    publish(desk, site)
    for item in views(desk):
        page = site / f"lot/{item.facts.lot_code}/index.html"
        decisions = [d.decision for d in item.facts.decisions]
        if not decisions:
            assert not page.exists()
        elif decisions[-1] == "hold":
            assert "On hold" in page.read_text()
            if "release" not in decisions:
                assert "What is in it" not in page.read_text()


def test_words_that_are_claims_are_refused(desk, site, demo_shop):
    """A use line that heals stops the run; nothing is written."""
    with pytest.raises(RuleBroken, match="eczema"):
        publish(with_shop(desk, pages=Pages(use=("It heals eczema.",))), site)
    assert not site.exists()


def test_pages_that_are_not_ours_stay(desk, site):
    """A maker's own first page is not written over, nor anything else then."""
    site.mkdir()
    (site / "index.html").write_text("<p>my own</p>")
    with pytest.raises(BadInput, match="not a page of ours"):
        publish(desk, site)
    assert [p.name for p in site.iterdir()] == ["index.html"]


def test_pages_never_lie_beside_the_ledger(desk):
    """Whoever shows the folder to the world would show the customers too."""
    before = sorted(desk.shop.folder.iterdir())
    with pytest.raises(BadInput, match="a shop's own folder"):
        publish(desk, desk.shop.folder)
    assert sorted(desk.shop.folder.iterdir()) == before


def test_a_lost_record_makes_every_page_anew(desk, site):
    """Without its record the run reads all, and writes what differs."""
    publish(desk, site)
    (site / RECORD).unlink()
    (site / "404.html").unlink()
    assert publish(desk, site).written == ("404.html",)


def test_a_page_goes_with_its_lot(desk, site):
    """A release that is undone takes the page away."""
    lot = next(
        v.facts.lot_code
        for v in views(desk)
        if v.readiness.state == "ready" and not v.facts.shipments
    )
    publish(desk, site)
    with desk.ledger.read() as reader:
        entry = [e for e in reader.entries(lot) if "release" in e.summary][-1]
    undo.undo(desk, entry.id, "too soon")
    assert f"lot/{lot}/index.html" in publish(desk, site).removed


def test_free_bars_for_a_web_shop(desk, site):
    """Ready bars less those that open orders still want; never below nothing."""
    publish(with_shop(desk, pages=Pages(stock=True)), site)
    told = {
        row["code"]: row["bars"] for row in json.loads((site / "stock.json").read_text())["free"]
    }
    ready: dict[str, int] = {}
    for v in views(desk):
        if v.readiness.state == "ready":
            ready[v.facts.recipe_code] = ready.get(v.facts.recipe_code, 0) + v.bars
    assert set(told) <= set(ready)
    assert all(0 <= n <= ready[code] for code, n in told.items())
    assert any(told.values())


def test_the_command_says_what_it_wrote(run, demo_shop, tmp_path):
    """Once, again, and with no web address."""
    out = tmp_path / "out"
    first = run("--shop", demo_shop, "--today", "2026-11-20", "publish", out)
    assert first.code == 0
    assert "told" in first.out
    again = run("--shop", demo_shop, "--today", "2026-11-20", "publish", out, "--json")
    assert json.loads(again.out)["written"] == []
    text = (demo_shop / "shop.toml").read_text()
    (demo_shop / "shop.toml").write_text(re.sub(r'web = "[^"]*"', 'web = ""', text))
    refused = run("--shop", demo_shop, "publish", out)
    assert refused.code == 2
    assert "web" in refused.err


def test_a_photo_stands_on_its_lots_page_if_the_shop_wants_it(desk, site):
    """The last one, once, and it goes with the lot's page; a page without it names no picture."""
    lot = released(desk).facts.lot_code
    colours = ("#445566", "#778899")
    for colour in colours:
        data = io.BytesIO()
        Image.new("RGB", (800, 600), colour).save(data, "PNG")
        add_photo(desk, lot, data.getvalue(), note="by the barn door")
    publish(desk, site)
    assert not list(site.glob("photo/*"))
    showing = with_shop(desk, pages=Pages(photo=True, languages=("en", "fr")))
    publish(showing, site)
    (file,) = site.glob("photo/*.jpg")
    with desk.ledger.read() as reader:
        last = reader.photos(lot)[-1]
        assert file.read_bytes() == reader.photo(last.entry_id)
    page = html5lib.parse((site / f"lot/{lot}/index.html").read_text(), namespaceHTMLElements=False)
    (shown,) = page.iter("img")
    assert urljoin(f"/lot/{lot}/index.html", shown.get("src")) == f"/photo/{file.name}"
    assert shown.get("alt") == f"Photo of lot {lot.shown} / Photo du lot {lot.shown}"
    assert publish(showing, site).written == ()
    undo.undo(desk, last.entry_id, "the wrong bar")
    again = publish(showing, site)
    assert f"photo/{file.name}" in again.removed
    assert len(list(site.glob("photo/*.jpg"))) == 1
    assert publish(desk, site).removed
    assert not list(site.glob("photo/*.jpg"))
