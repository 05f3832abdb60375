"""Every command answers alike on SQLite and on PostgreSQL, in a full shop and in a new one."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import Any

import pytest

from soapstock.cli.frame.commands import COMMANDS
from soapstock.ledger.keep.transfer import copy_to
from soapstock.ledger.store import open_ledger
from soapstock.tables.shipped import shipped_dir

pytestmark = pytest.mark.postgres

TODAY = ("--today", "2026-11-20", "--by", "tester")
SAMPLES = shipped_dir("sample_data")
ELSEWHERE = {
    "start",  # they make or replace a database; tests/ledger/keep runs them on both
    "demo",
    "restore",
    "page",  # it serves until it is stopped; tests/page asks it
    "phone pair",  # phones are kept beside the ledger, under codes drawn by chance; tests/page
    "phone list",
    "phone reader",
    "phone dismiss",
}
# In this order; `!` marks what the demo shop refuses, `{out}` is a folder to write to.
SAID = """
fat list
materials clay
materials --json
fat show beef-tallow
fat show beef-tallow --json
design faces
design sheets
design calibrate letter-2x3 --out {out}/calibration.pdf
rules us-soap
lye --naoh 150g --water 300g
recipe list
recipe show DRF
recipe scale DRF --have beef-tallow=300g --json
recipe practice DRF --by beef-tallow=1300g
recipe swap DRF --fat 1kg --out coconut --in babassu
recipe composition DRF --fat 1kg --lost 12
recipe mould DRF --inside "30cm x 9cm x 6cm"
recipe fill DRF --pot 3kg
recipe pot DRF --temp 40C
recipe add {samples}/recipes/ebb.toml
lots
lots --json
stock
stock --json
place list
curing
curing --json
ready
ready --week
ready --json
promise
promise --json
plan --launch 2027-02-20 --json
order list
order list --json
order import {samples}/orders.csv
order import {samples}/orders.csv
order reserve HS-41
order reserve HS-41
order free HS-41
order reserve HS-41
order list --json
order pack HS-41 --pick {out}/pick.pdf --slip {out}/slip.pdf
order pack --pick {out}/all.pdf --slip {out}/slips.pdf
order ship HS-41 --short --why "all there is"
order unship HS-41 --because "wrong box"
order ship HS-41
undo last
order add X-1 DRF=2 EBB=1 --from "B. Customer" --wanted-by 2026-12-01
order reserve X-1
market Quay LAN=3 EEL=2
market Quay LAN=/1 EEL=/0 --price 7
order cancel X-1 --why "not wanted after all"
want add "C. Other" DRF=2
want list
want order DRF --shares fair
promise --json
today
today --json
samples
labels check
labels count DRF-26241-AZ --printed 10 --used 3
labels check --json
label DRF-26241-AZ --text
label DRF-26241-AZ --out {out}/label.pdf --copies 3
check label DRF-26241-AZ
check declared DRF-26241-AZ --json
! check claims --text "Soap that heals."
check net-weight {out}/bars.csv --declared 113g --lot-size 3
label-run {out}/run.csv --out {out}/run.pdf
card DRF-26241-AZ --out {out}/card.pdf
cost DRF-26241-AZ --json
cost BEE-26230-AC
cure DRF-26273-AY --json
cure DRF-26241-AZ
rack --pdf {out}/rack.pdf --all
calendar {out}/cure.ics
design proofs DRF-26241-AZ {out}/proofs
publish {out}/site
record DRF-26241-AZ --out {out}/record.pdf
scan DRF-26241-AZ
scan DRF-26241-AZ --json
scan BEE-26230-AC --json
follow BEE-26230-AC --json
recall BEE-26230-AC
recall BEE-26230-AC --practice
spend DRF-26241-AZ work 95
spend DRF-26241-AZ packing 4.20
spend - fees 25.00 --note "a stall"
cost DRF-26241-AZ --json
price set DRF 7.50
price set DRF 4.25 --buyer wholesale
price list
price list --json
price sheet {out}/prices.pdf
price sheet {out}/cards.pdf --cards
receive lard --mass 2kg --supplier "Invented Farm" --best-before 2027-06-30 --cost 14.50
receive raw-lard --mass 3kg --animal "pig 4"
render lard --mass 1kg --from RAW-26324-AN=2kg
place add counter shelf --capacity 3
level lard 5kg
level DRF 3
move DRF-26241-AZ 2 --to counter --from rack
! move DRF-26241-AZ 2 --to counter --from rack
ship DRF-26241-AZ 1 --to "A. Customer" --destination VT
ship DRF-26241-AZ 1 --to "A. Customer" --from counter
take-back DRF-26241-AZ 1 --from "A. Customer" --why "wrong scent" --json
! give DRF-26241-AZ 1 --for love
give DRF-26241-AZ 1 --for gift --to "A. Neighbour" --from rack
recipe retire EBB --why "too soft"
recipe list --json
! pour EBB --fat 60g --as-planned
recipe retire EBB --back --why "firmer now"
recipe list
! charge 77 --price 7.00 --tax 0.40
! invoice give HS-31 --paid cash
ship EBB-26246-AS 1 --to "B. Customer" --order Z-9 --price 7.00 --tax 0.40 --from rack
invoice give Z-9 --paid cash --out {out}/receipt.pdf
charge 115 --price 7.25
invoice give --entry 115 --address "1 Quay"
! charge 115 --price 7.00
! undo 115 --because "wrong"
invoice credit 2026-0001 --why "wrong price" --out {out}/note.pdf
invoice print 2026-0001 {out}/invoice.pdf
invoice list
invoice list --json
sell EBB=2 --at "A Market" --price 7 --tax 0.5
sell --at "A Market" --json
retain DRF-26241-AZ 1 --from rack
waste DRF-26241-AZ 1 --from rack --why dropped
count DRF-26241-AZ rack 1 --note "two are gone"
weigh DRF-26273-AY 1200g --bars 10
photo DRF-26273-AY {samples}/../labels/proofs/rack-card.png --note "from above"
test DRF-26273-AY --method tongue --pass
declare WRK-26276-AE
declare WRK-26276-AE 107g --why "rounder"
release DRF-26273-AY --why "dry"
hold DRF-26241-AZ --why "a look"
reject DRF-26241-AZ --why "a zap"
pour EBB --have beef-tallow=300g --as-planned
unmould EBB-26324-A0 --bars 4 --mass 400g
! undo 3 --because "wrong"
undo 138 --because "wrong"
entries --last 3
entries --json
recall DRF-26241-AZ --hold --why "a zap"
today --json
stock --json
worth --fat beef-tallow --wage 20 --json
worth --by batch
worth --by buyer
season --from 2026-08-01 --json
season --pdf {out}/season.pdf
journal {out}/journal.csv --chart {out}/chart.csv
journal --from 2026-10-01 --json
audit
backup --to {out}/backups
opening EBB --poured 2026-10-12 --bars 6 --made 10 --mass 700g --as-recipe
receive olive --mass 2kg --from-before
take-in {out}/notes.csv
take-in {out}/notes.csv --enter
take-in {out}/notes.csv --enter
old-notes
old-notes --json
hand-over {out}/whole
move-to sqlite:///{out}/copy.db
migrate
"""


LINES = tuple(line.removeprefix("! ") for line in filter(None, SAID.splitlines()))
REFUSED = {line for line in SAID.splitlines() if line.startswith("! ")}


class Noon(datetime):
    """A clock that stands, so that both ledgers hold the same instants and so the same hashes."""

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> datetime:
        """Noon of the demo's day."""
        return datetime(2026, 11, 20, 12, tzinfo=tz or UTC)


def words_of(line: str, out: Path) -> list[str]:
    """The words of a line as a shell would give them."""
    import shlex

    return shlex.split(line.format(out=out, samples=SAMPLES))


def name_of(line: str) -> str:
    """The command that a line says."""
    words = line.split()
    return " ".join(words[:2]) if " ".join(words[:2]) in COMMANDS else words[0]


def answers(run: Callable[..., Any], shop: Path) -> dict[str, tuple[int, str]]:
    """Exit code and text of all that a shop answers, its own folder and the time taken left out."""
    out = shop.parent / f"{shop.name}-out"
    (out / "proofs").mkdir(parents=True)
    (out / "bars.csv").write_text("net_g\n114\n113.5\n115\n", encoding="utf-8")
    (out / "notes.csv").write_text(
        "date,soap,tallow,lye\n2025-10-01,Ebb,700g,96g\n", encoding="utf-8"
    )
    (out / "run.csv").write_text("lot,copies\nDRF-26241-AZ,2\n", encoding="utf-8")
    found = {}
    for number, line in enumerate(LINES):
        told = run("--shop", shop, *TODAY, *words_of(line, out))
        text = re.sub(r"\s+", "", told.out + told.err)
        found[f"{number}: {line}"] = (told.code, text.replace(str(shop), "SHOP"))
    return found


def odd_in(value: Any) -> list[object]:
    """What JSON says otherwise than everywhere else: a lot code not as printed, another middle."""
    if isinstance(value, dict):
        names = {"low", "expected", "high"} & set(value)
        return [*([value] if len(names) == 3 else []), *odd_in([*value, *value.values()])]
    if isinstance(value, list):
        return [odd for inner in value for odd in odd_in(inner)]
    bare = isinstance(value, str) and re.fullmatch(r"[A-Z]{2,4}[0-9]{5}[A-Z][0-9A-Z]", value)
    return [value] if bare else []


def test_every_command_is_said() -> None:
    """A new command joins the list, or the few that make or replace a database."""
    assert {name_of(line) for line in LINES} | ELSEWHERE == set(COMMANDS)


@pytest.mark.parametrize("full", [True, False], ids=["demo", "new"])
def test_both_databases_answer_alike(
    full: bool,
    run: Callable[..., Any],
    request: pytest.FixtureRequest,
    new_pg_url: Callable[[], str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Word for word, exit codes and the head hash of the chain included, and nothing crashes."""
    monkeypatch.setattr("soapstock.cli.frame.session.datetime", Noon)
    monkeypatch.setattr("time.perf_counter", lambda: 0.0)  # how long a recall took is a fact too
    made: Path = request.getfixturevalue("demo_shop" if full else "new_shop")
    here, there = made.parent / "on-a-file", made.parent / "on-server"  # texts wrap alike
    made.rename(here)
    shutil.copytree(here, there)
    url = new_pg_url()
    with open_ledger(f"sqlite:///{here / 'ledger.db'}") as ledger:
        copy_to(ledger, url)
    (there / "ledger.db").unlink()
    settings = (there / "shop.toml").read_text(encoding="utf-8")
    settings = re.sub(r'(?m)^database = "[^"]*"', f'database = "{url}"', settings)
    (there / "shop.toml").write_text(settings, encoding="utf-8")
    ours, theirs = answers(run, here), answers(run, there)
    differ = {line: (ours[line], theirs[line]) for line in ours if ours[line] != theirs[line]}
    assert not differ
    assert not {line: told for line, told in ours.items() if told[0] in (1, 6)}
    for line, (code, text) in ours.items():
        if "--json" in line and code == 0:
            assert odd_in(json.loads(text)) == [], line
    if full:
        done = {line for line, told in ours.items() if told[0] == 0}
        refused = {line.split(": ", 1)[1] for line in ours if line not in done}
        assert {f"! {line}" for line in refused} == REFUSED
