"""Orders from the letter to the parcel."""

import shutil
from collections import Counter
from datetime import date

import pypdfium2
import pytest

from soapstock.enter import move
from soapstock.enter import orders as enter_orders
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.papers import packing
from soapstock.tables.shipped import shipped_dir
from soapstock.upkeep import ledger
from soapstock.views import orders as orders_views
from soapstock.views.batch import view, views


@pytest.fixture
def asked(desk):
    """The demo shop with its sample orders taken in."""
    enter_orders.take_in(desk, shipped_dir("sample_data") / "orders.csv", None)
    return desk


def _reserved(desk, ref):
    return sum(orders_views.one(desk, ref).reserved.values())


def test_the_same_file_counts_once(asked):
    """Orders that are there already are left alone."""
    again = enter_orders.take_in(asked, shipped_dir("sample_data") / "orders.csv", None)
    assert again.taken == ()
    assert len(again.there_already) == 4


def test_an_order_that_changed_in_the_file_is_refused_whole(asked, tmp_path):
    """Nothing of the file is taken in."""
    path = tmp_path / "orders.csv"
    shutil.copy(shipped_dir("sample_data") / "orders.csv", path)
    text = path.read_text().replace("SAM,8", "SAM,9")
    path.write_text(text.replace("HS-44", "HS-2000"))
    with pytest.raises(RuleBroken, match="HS-42 is there already and says something else"):
        enter_orders.take_in(asked, path, None)
    with pytest.raises(NotFound):
        orders_views.one(asked, "HS-2000")


def test_reserving_takes_the_first_expired_first(asked):
    """No lot is taken while one of the same recipe that expires sooner has free bars."""
    plan, _ = enter_orders.reserve(asked, "HS-41")
    assert plan.lacking == {}
    taken = {take.lot_code for take in plan.takes}
    for take in plan.takes:
        sooner = [
            v
            for v in views(asked)
            if v.facts.recipe_code == take.recipe_code
            and v.readiness.state == "ready"
            and v.best_before < take.best_before
            and v.bars > 0
        ]
        assert {v.facts.lot_code for v in sooner} <= taken
    assert _reserved(asked, "HS-41") == 10


def test_reserving_again_changes_nothing(asked):
    """The second time there is nothing more to keep."""
    enter_orders.reserve(asked, "HS-41")
    _, entry = enter_orders.reserve(asked, "HS-41")
    assert entry is None
    assert _reserved(asked, "HS-41") == 10


def test_what_is_promised_to_one_is_not_free_for_another(asked):
    """Free falls by what an open order wants, on every day before it too."""
    before = {(r.recipe, r.from_): r.free for r in orders_views.promise(asked)}
    enter_orders.add(asked, "X-1", "Invented Shop", ["DRF=5"], wanted_on=date(2027, 1, 15))
    after = {(r.recipe, r.from_): r.free for r in orders_views.promise(asked)}
    last = max(day for code, day in before if code == "DRF")
    assert after["DRF", last] == before["DRF", last] - 5
    assert all(after[key] <= free for key, free in before.items())
    assert all(after[key] == free for key, free in before.items() if key[0] != "DRF")


def test_late_bound_promises_no_sooner_than_the_expected_day(asked):
    """The cautious list has each bar on the same day or later."""
    late, middle = orders_views.promise(asked), orders_views.promise(asked, optimistic=True)
    for row in late:
        by = max(
            (m.supply for m in middle if m.recipe == row.recipe and m.from_ <= row.from_),
            default=0,
        )
        assert row.supply <= by


def test_shipping_an_order_empties_its_lots_and_closes_it(asked):
    """In one transaction, and the audit finds nothing."""
    plan = enter_orders.ship(asked, "HS-41")
    order = orders_views.one(asked, "HS-41")
    assert order.outcome == "shipped"
    assert sum(order.shipped.values()) == sum(t.bars for t in plan.takes) == 10
    assert ledger.audit(asked).problems == ()


def test_short_is_the_makers_decision(asked):
    """Without it nothing ships; with it, what is there, with the reason."""
    enter_orders.add(asked, "X-1", "Invented Shop", ["EBB=900"])
    with pytest.raises(RuleBroken, match="lacks"):
        enter_orders.ship(asked, "X-1")
    with pytest.raises(BadInput, match="needs a reason"):
        enter_orders.ship(asked, "X-1", short=True)
    enter_orders.ship(asked, "X-1", short=True, why="all there is")
    order = orders_views.one(asked, "X-1")
    with asked.ledger.read() as reader:
        kept = {e.note for e in reader.entries(None, 5)}
    assert "all there is" in kept
    sent = sum(order.shipped.values())
    assert 0 < sent < 900
    assert not order.outcome  # what is owed stays owed


def test_what_a_short_shipment_leaves_stays_owed(asked):
    """Ordered less sent, in the list and in what may be promised, until it is sent or cancelled."""
    enter_orders.add(asked, "X-1", "Invented Shop", ["EBB=900"])
    before = {r.wanted for r in orders_views.promise(asked) if r.recipe == "EBB"}
    plan = enter_orders.ship(asked, "X-1", short=True, why="all there is")
    sent = sum(t.bars for t in plan.takes)
    order = orders_views.one(asked, "X-1")
    assert orders_views.still_wanted(order, dict.fromkeys(order.shipped, "EBB")) == {
        "EBB": 900 - sent
    }
    after = {r.wanted for r in orders_views.promise(asked) if r.recipe == "EBB"}
    assert max(after) == max(before) - sent
    with pytest.raises(RuleBroken, match=r"nothing left|lacks"):
        enter_orders.ship(asked, "X-1")
    enter_orders.cancel(asked, "X-1", "the customer took it back")
    assert orders_views.one(asked, "X-1").outcome == "cancelled"
    assert ledger.audit(asked).problems == ()


def test_only_ready_lots_are_taken(asked):
    """Whatever is ordered, no bar that still cures or is on hold."""
    lines = [f"{code}=500" for code in ("DRF", "SAM", "EEL", "LAN", "MUD", "EBB")]
    enter_orders.add(asked, "X-1", "Invented Shop", lines)
    plan = orders_views.plan(asked, orders_views.one(asked, "X-1"))
    state = {v.facts.lot_code: v.readiness.state for v in views(asked)}
    assert {state[t.lot_code] for t in plan.takes} == {"ready"}


def test_returned_bars_are_not_sold_again(asked):
    """They are neither supply nor in a plan."""
    plan = enter_orders.ship(asked, "HS-41")
    take = plan.takes[0]
    before = {(r.recipe, r.from_): r.free for r in orders_views.promise(asked)}
    enter_orders.take_back(asked, take.lot_code, take.bars, "C. Wader (invented)", why="wet box")
    assert {(r.recipe, r.from_): r.free for r in orders_views.promise(asked)} == before


def test_returned_bars_are_not_counted_as_in_hand(asked):
    """They are held apart in every list, not only in the order book."""
    plan = enter_orders.ship(asked, "HS-41")
    take = plan.takes[0]
    before = view(asked, take.lot_code).bars
    enter_orders.take_back(asked, take.lot_code, take.bars, "C. Wader (invented)", why="wet box")
    assert view(asked, take.lot_code).bars == before


def test_returned_bars_go_back_to_stock_only_with_a_reason(asked):
    """The maker says why they may be sold again."""
    take = enter_orders.ship(asked, "HS-41").takes[0]
    enter_orders.take_back(
        asked, take.lot_code, take.bars, "C. Wader (invented)", why="wrong address"
    )
    before = view(asked, take.lot_code).bars
    with pytest.raises(RuleBroken, match="held apart"):
        move.move(asked, take.lot_code, take.bars, "shelf", from_place="returned")
    move.move(asked, take.lot_code, take.bars, "shelf", from_place="returned", note="never opened")
    assert view(asked, take.lot_code).bars == before + take.bars


def test_bars_that_wait_for_a_release_are_told_apart_in_the_promise(asked):
    """Days alone do not make a bar free to ship."""
    waiting = {
        v.facts.recipe_code
        for v in views(asked, in_stock=True)
        if v.bars > 0
        and v.readiness.state not in ("ready", "on hold", "rejected", "gone")
        and v.readiness.ready_by is not None
        and v.readiness.ready_by.late <= asked.today
    }
    rows = orders_views.promise(asked)
    assert {r.recipe for r in rows if r.undecided > 0} == waiting


def test_cancelling_frees_what_was_kept(asked):
    """For the next order."""
    enter_orders.reserve(asked, "HS-41")
    enter_orders.cancel(asked, "HS-41", "they called")
    assert _reserved(asked, "HS-41") == 0
    assert orders_views.one(asked, "HS-41").outcome == "cancelled"


def test_papers_name_every_lot(asked, tmp_path):
    """Pick list and packing slip are read back as PDF."""
    pick, slip = tmp_path / "pick.pdf", tmp_path / "slip.pdf"
    orders = packing.packed(asked, ["HS-41"])
    packing.write_pick_list(asked, orders, pick, 120.0)
    packing.write_packing_slips(asked, orders, slip)
    for path in (pick, slip):
        text = "".join(_pages(path))
        assert all(take.lot_code.shown in text for take in orders[0][1].takes)
        assert "C. Wader (invented)" in text


def test_all_open_orders_stand_on_one_pick_list(asked, tmp_path):
    """One walk along the shelves: no bar is named twice; a slip a page, each with its own lots."""
    enter_orders.add(asked, "X-2", "A. Marsh (invented)", ["DRF=3"], contact="2 Quay; Oldtown")
    orders = packing.packed(asked)
    assert {order.order_ref for order, _ in orders} == {"HS-41", "HS-42", "HS-43", "HS-44", "X-2"}
    taken = Counter()
    for _, plan in orders:
        for take in plan.takes:
            taken[take.lot_code, take.place] += take.bars
    for (lot, place), bars in taken.items():
        assert bars <= view(asked, lot).facts.places[place]
    pick, slip = tmp_path / "pick.pdf", tmp_path / "slips.pdf"
    packing.write_pick_list(asked, orders, pick)
    packing.write_packing_slips(asked, orders, slip)
    listed = "".join(_pages(pick))
    assert all(order.order_ref in listed for order, _ in orders)
    assert listed.count("Take") == 1
    pages = _pages(slip)
    assert len(pages) == len(orders)
    for (order, _), page in zip(orders, pages, strict=True):
        assert order.order_ref in page
    mine = next(page for page in pages if "X-2" in page)
    assert "2 Quay" in mine
    assert "Oldtown" in mine


def test_the_parcel_goes_to_its_own_address(asked, tmp_path):
    """A telephone number is for the maker, not for the slip; a recall reaches them by either."""
    enter_orders.add(
        *(asked, "X-4", "A. Marsh (invented)", ["EBB=1"]),
        ship_to="2 Quay; Oldtown, VT 05000",
        contact="555 0100",
        destination="VT",
    )
    slip = tmp_path / "slip.pdf"
    packing.write_packing_slips(asked, packing.packed(asked, ["X-4"]), slip)
    (page,) = _pages(slip)
    assert "2 Quay" in page
    assert "Oldtown, VT 05000" in page
    assert "555 0100" not in page
    assert page.count("VT") == 1


def test_orders_packed_together_share_what_is_there(asked):
    """14 bars of Driftwood: who is served first has them, the next one's slip says what lacks."""
    enter_orders.add(asked, "X-3", "A. Marsh (invented)", ["DRF=10"])
    (_, first), (_, second) = packing.packed(asked, ["HS-41", "X-3"])
    assert not first.lacking
    assert second.lacking == {"DRF": 2}


def test_an_order_ships_from_the_place_named(asked):
    """Bars that stand packed in a crate are not taken from the rack."""
    plan = enter_orders.ship(asked, "HS-42", from_place="rack")
    assert {take.place for take in plan.takes} == {"rack"}
    enter_orders.add(asked, "X-4", "A. Marsh (invented)", ["SAM=6"])
    with pytest.raises(RuleBroken, match="lacks"):
        enter_orders.ship(asked, "X-4", from_place="shelf")


def _pages(path):
    return [page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(path)]


def test_parcel_weighs_its_bars_today(asked):
    """Current mass, not the declared one, plus the packaging."""
    plan = orders_views.plan(asked, orders_views.one(asked, "HS-41"))
    bars = sum(take.bars * take.bar_g for take in plan.takes)
    assert orders_views.parcel_g(plan.takes, 120.0) == pytest.approx(bars + 120.0)


@pytest.mark.parametrize("line", ["DRF", "DRF=", "DRF=x", "DRF=²", "DRF=99999999", "=3"])
def test_a_line_that_cannot_be_read_is_refused(desk, line):
    """And no order is taken: the book of orders is as before."""
    before = orders_views.listed(desk, everything=True)
    with pytest.raises((BadInput, NotFound)):
        enter_orders.add(desk, "X-1", "Invented Shop", [line])
    assert orders_views.listed(desk, everything=True) == before
