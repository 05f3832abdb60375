"""Priors from the demo shop's own finished batches."""

from __future__ import annotations

from datetime import date

from soapstock.cure.model import WEAK_PRIOR, BatchStart
from soapstock.desk.desk import Desk
from soapstock.enter.batch import weigh
from soapstock.views import lists
from soapstock.views.poured import whole_start
from soapstock.views.teachers import kind_of, shop_teachers
from tests.desks import on


def test_the_demo_shop_teaches_its_next_batches(desk: Desk) -> None:
    """With its finished batches the shop expects a new bar more narrowly than the weak prior."""
    with desk.ledger.read() as reader:
        facts = reader.batch("DRF26316AN")
    fresh = shop_teachers(desk).prior(kind_of(facts), without="DRF26316AN")
    assert fresh.batches >= 3
    assert fresh.ln_d_sd < WEAK_PRIOR.ln_d_sd
    assert fresh.end_percent_sd < WEAK_PRIOR.end_percent_sd


def test_a_finished_batch_stands_behind_others_but_not_itself(desk: Desk) -> None:
    """Its own prior rests on one batch fewer."""
    teachers = shop_teachers(desk)
    for batch in teachers.batches:
        assert teachers.prior(batch.kind, without=batch.lot).batches == len(teachers.batches) - 1


def test_an_empty_shop_has_the_weak_prior_only(empty: Desk) -> None:
    """No batches, no priors, and asking for teachers fails nothing."""
    assert shop_teachers(empty).batches == ()


def test_the_kind_of_a_batch_is_read_from_its_facts(desk: Desk) -> None:
    """Recipe, season and rack of a demo batch."""
    with desk.ledger.read() as reader:
        facts = reader.batch("SAM26279AE")
    kind = kind_of(facts)
    assert (kind.recipe, kind.season) == ("SAM", "Sep-Nov")
    assert kind.room


def test_the_whole_start_knows_bars_and_batter(desk: Desk) -> None:
    """Counted bars and the batter for each bar come from the ledger; in the mould nothing does."""
    start = BatchStart(mass_per_bar_g=134.4, day=1.0, water_fraction=0.2)
    with desk.ledger.read() as reader:
        out, still_in = reader.batch("SAM26279AE"), reader.batch("SAM26323AN")
    assert out.unmould is not None
    assert whole_start(start, out).bars == out.unmould.counted_bars
    assert (whole_start(start, out).poured_per_bar_g or 0) > 100
    assert whole_start(start, still_in) == start


def test_looking_back_the_kin_teach_only_what_was_known(desk: Desk) -> None:
    """A weigh-in of a finished batch entered for a later day leaves an older forecast as it was."""
    earlier = on(desk, "2026-10-20")
    before = [lists.row(item) for item in lists.curing(earlier)]
    assert len(before) > 1
    weigh(on(desk, "2026-11-10"), "DRF-26241-AZ", 10, "1195g", on=date(2026, 11, 10))
    assert [lists.row(item) for item in lists.curing(earlier)] == before
