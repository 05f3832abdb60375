"""Tracing against networkx, an independent graph library.

Source: networkx 3, networkx.ancestors and networkx.descendants (documentation of the library,
"Directed Acyclic Graphs"): all nodes with a path to, or from, a node.
"""

import random
import shutil
from datetime import UTC, date, datetime, timedelta

import networkx as nx
import pytest

from soapstock.ledger.facts import PourFacts, ReceiveFacts, Stamp, Use
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.store import open_ledger


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """An empty ledger file to copy."""
    path = tmp_path_factory.mktemp("trace") / "ledger.db"
    create(f"sqlite:///{path}")
    return path


def _stamp(day):
    return Stamp(
        happened_on=date(2026, 1, 1) + timedelta(days=day),
        by="Invented Maker",
        entered_at=datetime(2026, 1, 1, tzinfo=UTC),
    )


def _grow(writer, chance):
    """A random shop: raw fat, rendered fat, batches, rebatches of batches; and its graph."""
    graph, fats, bars = nx.DiGraph(), [], []
    writer.add_recipe(_stamp(0), code="DRF", text="made")
    for number in range(40):
        code = f"L{number}"
        sources = chance.sample(fats, min(len(fats), chance.randint(0, 3)))
        if number < 4 or (chance.random() < 0.4 and not bars):
            used = tuple(
                Use(lot_code=s, ingredient="lard", role="fat", mass_mg=1000) for s in sources
            )
            writer.receive(
                _stamp(number),
                ReceiveFacts(
                    lot_code=code,
                    ingredient="lard",
                    mass_mg=10**9,
                    supplier="Invented Farm",
                    made_from=used,
                ),
            )
            fats.append(code)
        else:
            sources = sources or fats[:1]
            old = chance.sample(bars, min(len(bars), chance.randint(0, 2)))
            used = tuple(
                Use(lot_code=s, ingredient="lard", role="fat", mass_mg=1000) for s in sources
            )
            used += tuple(
                Use(lot_code=s, ingredient="soap", role="addition", mass_mg=100, bars=1)
                for s in old
            )
            writer.pour(
                _stamp(number),
                PourFacts(
                    lot_code=code, recipe_code="DRF", recipe_version=1, uses=used, batter_mg=10**6
                ),
            )
            writer.unmould(_stamp(number), code, 100, 0, 1, 1000)
            bars.append(code)
            sources = [*sources, *old]
        graph.add_node(code)
        graph.add_edges_from((source, code) for source in sources)
    return graph


@pytest.mark.parametrize("seed", range(6))
def test_trace_reaches_exactly_what_networkx_reaches(empty, tmp_path, seed):
    """Both ways, for every lot of a random shop."""
    path = tmp_path / "ledger.db"
    shutil.copy(empty, path)
    with open_ledger(f"sqlite:///{path}") as ledger:
        with ledger.write() as w:
            graph = _grow(w, random.Random(seed))
        with ledger.read() as r:
            for code in graph:
                found = r.follow(code)
                assert {x.lot_code for x in found.back} == nx.ancestors(graph, code) | {code}
                assert {x.lot_code for x in found.forward} == nx.descendants(graph, code) | {code}
                affected = {x.lot.lot_code for x in r.recall(code).affected}
                reached = nx.descendants(graph, code) | {code}
                assert affected == {c for c in reached if r.lot_kind(c) == "batch"}


def test_depth_is_the_shortest_way(empty, tmp_path):
    """As networkx.shortest_path_length has it."""
    path = tmp_path / "ledger.db"
    shutil.copy(empty, path)
    with open_ledger(f"sqlite:///{path}") as ledger:
        with ledger.write() as w:
            graph = _grow(w, random.Random(99))
        with ledger.read() as r:
            found = {x.lot_code: x.depth for x in r.follow("L0").forward}
    assert found == nx.single_source_shortest_path_length(graph, "L0")
