"""A pour on the page: one mass after the other, judged at once, the lye behind its cautions."""

from __future__ import annotations

import re
from decimal import Decimal
from urllib.parse import parse_qsl

import httpx
import pytest

from soapstock.page.pot import SoFar
from soapstock.views.pot import pot
from tests.page.served import Served, form, parsed
from tests.page.test_enter import entries

CODE, BARS = "EBB", "6"


def plan(served: Served) -> dict[str, Decimal]:
    """What the plan asks, g, in the order the page goes."""
    with served.site.open() as desk:
        found = pot(desk, CODE, SoFar(texts={"bars": BARS}).target, {})
    return {line.key: line.planned_g for line in found.lines}


def walk(phone: httpx.Client, masses: dict[str, Decimal]) -> httpx.Response:
    """Go through all pages by their own forms, and send the pour."""
    path = f"/pot/{CODE}?bars={BARS}"
    page = phone.get(path)
    (link,) = re.findall(rf'href="(/pot/{CODE}/[^"]+)"', page.text)
    page = phone.get(link.replace("&amp;", "&"))
    for _ in range(2 * len(masses) + 4):
        tree = parsed(page.text)
        del tree
        there = re.findall(rf'<form[^>]*action="(/pot/{CODE}/[^"]+)"', page.text)
        to = there[-1]  # on the last page the form of the clocks comes first
        fields = form(page.text, to)
        if to.endswith("/pour"):
            return phone.post(to, data={**fields, "trace": "7,5", "mould": "loaf 1"})
        for name in fields:
            if name.startswith("m.") and not fields[name]:
                fields[name] = str(masses[name[2:]])
        page = phone.get(to, params=fields, follow_redirects=True)
        assert page.status_code == 200, page.text
    raise AssertionError("the pour has no end")


def test_a_whole_pour_as_planned(served: Served, phone: httpx.Client) -> None:
    """Every mass by its own page; the entry is the person's and holds what was weighed."""
    masses = plan(served)
    answer = walk(phone, masses)
    assert answer.status_code == 200, answer.text
    assert "judged" in answer.text
    by, said = entries(served)[-1]
    assert by == "Ada"
    lot = re.findall(r"EBB-26324-\w\w", answer.text)[0]
    with served.site.open() as desk:
        from soapstock.desk.finding import read_lot

        with desk.ledger.read() as reader:
            poured = reader.batch(read_lot(desk, lot)).pour
    used = {use.ingredient: use.mass_g for use in (*poured.uses, *poured.unlotted) if use.mass_mg}
    assert used == masses, said
    assert (poured.trace_minutes, poured.mould) == (7.5, "loaf 1")


@pytest.mark.parametrize("step", ["naoh", "end"])
def test_the_lye_is_not_reached_without_its_cautions(
    served: Served, phone: httpx.Client, step: str
) -> None:
    """Neither by its page, nor by sending the pour at once."""
    query = {"bars": BARS} | {f"m.{k}": str(v) for k, v in plan(served).items()}
    answer = phone.get(f"/pot/{CODE}/{step}", params=query)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith(f"/pot/{CODE}/lye?")
    cautions = phone.get(answer.headers["location"]).text
    for word in ("goggles", "water to lye", "aluminium", "children", "Vinegar"):
        assert word in cautions
    fields = form(
        phone.get(f"/pot/{CODE}/end", params={**query, "ready": "yes"}).text, f"/pot/{CODE}/pour"
    )
    before = len(entries(served))
    fields.pop("ready")
    assert phone.post(f"/pot/{CODE}/pour", data=fields).status_code == 400
    assert len(entries(served)) == before


def test_water_is_weighed_before_lye(served: Served) -> None:
    """Lye goes into water (the cautions of tables/chemistry/cautions.toml say by whom)."""
    keys = list(plan(served))
    assert keys.index("water") < keys.index("naoh")


def test_a_mass_far_off_is_said_at_once_and_mended(served: Served, phone: httpx.Client) -> None:
    """The next page tells it before anything else, and offers the plan that keeps the recipe."""
    masses = plan(served)
    first, second = list(masses)[:2]
    much = masses[first] * 2
    page = phone.get(f"/pot/{CODE}/{second}", params={"bars": BARS, f"m.{first}": str(much)})
    assert "weighed twice" in page.text
    (mend,) = re.findall(r'href="([^"]+have=[^"]+)"', page.text)
    again = phone.get(mend.replace("&amp;", "&"))
    assert again.status_code == 200
    with served.site.open() as desk:
        grown = pot(desk, CODE, SoFar(texts={"have": f"{first}:{much}g"}).target, {})
    assert abs(grown.lines[1].planned_g - 2 * masses[second]) <= 2


def test_twice_the_lye_is_refused_and_recorded_only_on_hold(
    served: Served, phone: httpx.Client
) -> None:
    """The page says so at once; a pour that stands in the mould goes in with a reason, and held."""
    masses = plan(served)
    masses["naoh"] *= 2
    query = {"bars": BARS, "ready": "yes"} | {f"m.{k}": str(v) for k, v in masses.items()}
    page = phone.get(f"/pot/{CODE}/end", params=query)
    assert "STOP" in page.text
    fields = form(page.text, f"/pot/{CODE}/pour")
    before = len(entries(served))
    assert phone.post(f"/pot/{CODE}/pour", data=fields).status_code == 409
    assert len(entries(served)) == before
    held = phone.post(f"/pot/{CODE}/pour", data={**fields, "anyway": "it was in the mould"})
    assert held.status_code == 200, held.text
    assert "on hold" in held.text


def test_sent_twice_it_is_poured_once(served: Served, phone: httpx.Client) -> None:
    """The same form again says that it stands."""
    query = {"bars": BARS, "ready": "yes"} | {f"m.{k}": str(v) for k, v in plan(served).items()}
    fields = form(phone.get(f"/pot/{CODE}/end", params=query).text, f"/pot/{CODE}/pour")
    assert phone.post(f"/pot/{CODE}/pour", data=fields).status_code == 200
    count = len(entries(served))
    assert "recorded already" in phone.post(f"/pot/{CODE}/pour", data=fields).text
    assert len(entries(served)) == count


def test_a_pot_is_poured_once_however_its_last_page_comes_back(
    served: Served, phone: httpx.Client
) -> None:
    """Its key stands in the address: loaded anew, and with another mass, it is one pour."""
    before, start = len(entries(served)), phone.get(f"/pot/{CODE}?bars={BARS}").text
    (pot_key,) = set(re.findall(r"pot=([0-9a-f]{32})", start))
    query = {"bars": BARS, "ready": "yes", "pot": pot_key}
    query |= {f"m.{k}": str(v) for k, v in plan(served).items()}
    for change, status in (({}, 200), ({}, 200), ({"m.water": "150"}, 409)):
        page = phone.get(f"/pot/{CODE}/end", params={**query, **change}).text
        answer = phone.post(f"/pot/{CODE}/pour", data=form(page, f"/pot/{CODE}/pour"))
        assert answer.status_code == status, answer.text
    assert len(entries(served)) == before + 1


def test_a_comma_that_may_part_thousands_is_no_mass(phone: httpx.Client) -> None:
    """1,234 is 1234 to one and 1.234 to another; lye is not weighed by it."""
    for text, status in (("1,234", 400), ("12,5", 200)):
        query = {"bars": BARS, "m.beef-tallow": text}
        assert phone.get(f"/pot/{CODE}/coconut", params=query).status_code == status


@pytest.mark.parametrize(
    "query",
    ["", "bars=0", "bars=x", "fat=-3g", "have=nonsense:3g", "bars=6&m.naoh=lots", "bars=99999"],
)
def test_a_target_that_is_none_is_told(phone: httpx.Client, query: str) -> None:
    """In a line, not a crash."""
    assert phone.get(f"/pot/{CODE}?{query}").status_code in (200, 400)


def test_the_clocks_say_when_both_vessels_stand_as_wanted(
    served: Served, phone: httpx.Client
) -> None:
    """Read twice, each vessel cools by its own rate; a reading loaded again counts once."""
    from tests.page.eyes import pot_query  # which itself needs this file

    query = pot_query(served)
    first = phone.get(f"/pot/EBB/end?{query}&t.lye.now=70&t.fats.now=55,5&room=19")
    assert first.status_code == 303
    again = first.headers["location"]
    text = phone.get(again).text
    assert "Read it once more" in text or "both stand as wanted" in text
    assert "70 °C 0 minutes ago." in text
    assert phone.get(again).text.count("70 °C 0 minutes ago.") == 1
    now = int(served.site.clock().timestamp() // 60)
    read = f"&t.lye={now - 20}:75,{now}:55&t.fats={now - 20}:60,{now}:48&room=20"
    text = phone.get(f"/pot/EBB/end?{query}{read}").text
    found = re.search(r"In (\d+) minutes both stand as wanted, about (\d+) °C and (\d+) °C", text)
    assert found is not None, text
    assert 10 < int(found[1]) < 60
    assert all(35 <= int(degrees) <= 46 for degrees in found.groups()[1:])
    cold = f"&t.lye={now - 20}:60,{now}:21.5&t.fats={now - 20}:95,{now}:90&room=20"
    assert "hardly stand as wanted" in phone.get(f"/pot/EBB/end?{query}{cold}").text
    for odd in ("hot", "9" * 30, "-4"):
        answer = phone.get(f"/pot/EBB/end?{query}&t.lye.now={odd}")
        assert answer.status_code == 400, odd
    for odd in ("x:y", "1:", ":", ",,,", f"{now}:99999999999", "\u00b2:40"):
        answer = phone.get("/pot/EBB/end", params={**dict(parse_qsl(query)), "t.lye": odd})
        assert answer.status_code == 200, odd
