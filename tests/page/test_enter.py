"""What is entered by plain forms, without a script: judged as everywhere, and once."""

from __future__ import annotations

import re

import httpx
import pytest

from tests.page.served import Served, form


def entries(served: Served) -> list[tuple[str, str]]:
    """Who entered what."""
    with served.site.open() as desk, desk.ledger.read() as reader:
        return [(e.by, e.summary) for e in reader.entries(None, None)]


def lots(served: Served, state: str) -> list[str]:
    """The demo's lots in a state."""
    from soapstock.views.batch import views

    with served.site.open() as desk:
        return [
            v.facts.lot_code.shown
            for v in views(desk)
            if v.readiness.state == state and not v.expired
        ]


def places(served: Served, lot: str) -> dict[str, int]:
    """Where bars of a lot are for sale."""
    with served.site.open() as desk, desk.ledger.read() as reader:
        return reader.batch(lot.replace("-", "")).for_sale()


def send(phone: httpx.Client, lot: str, key: str, **texts: str) -> httpx.Response:
    """Fill a form in and send it, as a browser without a script does."""
    where = f"/lot/{lot}/{key}"
    fields = form(phone.get(where).text, where)
    return phone.post(where, data={**fields, **texts})


def bar_g(served: Served, lot: str) -> float:
    """What a bar of a lot weighed last, g."""
    from soapstock.desk.finding import read_lot
    from soapstock.views.batch import view

    with served.site.open() as desk:
        found = view(desk, read_lot(desk, lot)).last_weight_g
    assert found is not None
    return found


def test_a_weigh_in_is_entered_for_the_person(served: Served, phone: httpx.Client) -> None:
    """A number alone is grams; the entry bears the phone's person and the demo's day."""
    lot = lots(served, "curing")[0]
    before = entries(served)
    answer = send(phone, lot, "weigh", bars="4", mass=f"{4 * bar_g(served, lot):.0f}", rh="61,5")
    assert answer.status_code == 200, answer.text
    assert "Weighed" in answer.text
    new = entries(served)[len(before) :]
    assert [by for by, _ in new] == ["Ada"]


def test_sent_twice_it_is_entered_once(served: Served, phone: httpx.Client) -> None:
    """A second tap, or a page loaded again, says that it stands."""
    lot = lots(served, "curing")[0]
    where = f"/lot/{lot}/weigh"
    fields = form(phone.get(where).text, where)
    fields |= {"bars": "4", "mass": f"{4 * bar_g(served, lot):.0f}"}
    before = len(entries(served))
    assert phone.post(where, data=fields).status_code == 200
    again = phone.post(where, data=fields)
    assert again.status_code == 200
    assert "recorded already" in again.text
    assert len(entries(served)) == before + 1
    other = phone.post(where, data={**fields, "bars": "5"})
    assert other.status_code == 409


def test_a_sale_a_move_a_count_a_waste(served: Served, phone: httpx.Client) -> None:
    """Bars of a ready batch; what may not go is refused in words, without options or commands."""
    lot = lots(served, "ready")[0]
    for key, texts in (
        ("sell", {"bars": "1", "customer": "Quay market"}),
        ("waste", {"bars": "1", "why": "dropped"}),
    ):
        answer = send(phone, lot, key, **texts)
        assert answer.status_code == 200, answer.text
    curing = lots(served, "curing")[0]
    refused = send(phone, curing, "sell", bars="1", customer="Quay market")
    assert refused.status_code == 409
    assert "may not ship" in refused.text
    assert "--" not in refused.text
    assert "soapstock " not in refused.text


def test_bars_in_two_places_are_sold_from_each(served: Served, phone: httpx.Client) -> None:
    """Bars in the market's crate and on the shelf: the form that sent no place was refused."""
    lot = lots(served, "ready")[0]
    held = places(served, lot)
    assert len(held) > 1
    for number, place in enumerate(held):
        fields = form(phone.get("/market?name=Quay").text, f"/lot/{lot}/sell", number)
        assert fields["from"] == place
        assert phone.post(f"/lot/{lot}/sell", data=fields).status_code == 200
    left = places(served, lot)
    assert {place: left.get(place, 0) for place in held} == {p: n - 1 for p, n in held.items()}


def test_a_hold_stops_and_a_release_needs_a_test(served: Served, phone: httpx.Client) -> None:
    """The decision bears the person and the reason."""
    lot = lots(served, "ready")[0]
    assert send(phone, lot, "hold", why="a bar zapped").status_code == 200
    assert "ON HOLD" in phone.get(f"/lot/{lot}").text
    refused = send(phone, lot, "release", why="looks fine")
    assert refused.status_code == 409
    tested = send(phone, lot, "test", method="tongue", outcome="passed")
    assert tested.status_code == 200, tested.text
    assert send(phone, lot, "release", why="tested again").status_code == 200


@pytest.mark.parametrize(
    ("key", "texts"),
    [
        ("weigh", {"bars": "four", "mass": "400"}),
        ("weigh", {"bars": "4", "mass": "a lot"}),
        ("weigh", {"bars": "", "mass": "400"}),
        ("weigh", {"bars": "9" * 30, "mass": "400"}),
        ("weigh", {"bars": "4", "mass": "400", "on": "yesterday"}),
        ("weigh", {"bars": "4", "mass": "400", "rh": "wet"}),
        ("weigh", {"bars": "4", "mass": "1,250"}),
        ("weigh", {"bars": "4", "mass": "400", "at": "noon"}),
        ("weigh", {"bars": "4", "mass": "400", "at": "1999-01-01T00:00:00Z"}),
        ("test", {"method": "guess", "outcome": "passed"}),
        ("test", {"method": "tongue", "outcome": ""}),
    ],
)
def test_what_cannot_be_is_refused_in_a_line(
    served: Served, phone: httpx.Client, key: str, texts: dict[str, str]
) -> None:
    """Nothing is written, and the way to mend it is said."""
    lot = lots(served, "curing")[0]
    before = entries(served)
    answer = send(phone, lot, key, **texts)
    assert answer.status_code == 400, answer.text
    assert entries(served) == before


def test_what_waited_bears_the_time_it_was_entered(served: Served, phone: httpx.Client) -> None:
    """By the phone's clock, never later than now."""
    lot = lots(served, "curing")[0]
    at = served.site.clock().replace(microsecond=0)
    grams = f"{4 * bar_g(served, lot):.0f}"
    answer = send(phone, lot, "weigh", bars="4", mass=grams, at=at.isoformat())
    assert answer.status_code == 200, answer.text
    with served.site.open() as desk, desk.ledger.read() as reader:
        assert reader.entries(None, None)[-1].entered_at == at


def test_names_are_shown_and_never_run(served: Served, phone: httpx.Client) -> None:
    """A customer called as a script is only a strange name (OWASP XSS Prevention, rule 1)."""
    lot = lots(served, "ready")[0]
    evil = "<script>alert(1)</script><img src=x onerror=alert(2)>"
    assert send(phone, lot, "sell", bars="1", customer=evil).status_code == 200
    for path in (
        f"/lot/{lot}",
        f"/market?name={evil}",
        f"/shelf?place={evil}",
        f"/scan?code={evil}",
    ):
        text = phone.get(path).text
        assert "<script>alert" not in text
        assert "<img" not in text


def test_a_code_is_found_or_offers_are_made(served: Served, phone: httpx.Client) -> None:
    """Typed anyhow, a slip is answered with the lots that are near."""
    lot = lots(served, "curing")[0]
    found = phone.get("/scan", params={"code": lot.replace("-", " ").lower()})
    assert found.headers["location"] == f"/lot/{lot}"
    slip = lot[:-1] + ("A" if lot[-1] != "A" else "B")
    offered = phone.get("/scan", params={"code": slip})
    assert offered.status_code == 400
    assert lot in offered.text


def test_a_picture_of_a_code_is_read_here(served: Served, phone: httpx.Client) -> None:
    """A QR made by qrcode (ISO/IEC 18004), sent as PNG; what is no picture is refused."""
    import io

    import qrcode

    lot = lots(served, "curing")[0]
    png = io.BytesIO()
    qrcode.make(lot.replace("-", "")).save(png)
    token = form(phone.get("/scan").text, "/scan/picture")["token"]
    sent = {"picture": ("qr.png", png.getvalue(), "image/png")}
    answer = phone.post("/scan/picture", data={"token": token}, files=sent)
    assert answer.headers["location"] == f"/lot/{lot}", answer.text
    refused = phone.post("/scan/picture", data={"token": token}, files={"picture": b"GIF89a?"})
    assert refused.status_code == 400
    assert "/tmp" not in refused.text


def test_the_link_of_a_print_opens_the_batch(served: Served, phone: httpx.Client) -> None:
    """Both forms that our prints hold (GS1 Digital Link 1.1, section 4)."""
    lot = lots(served, "curing")[0].replace("-", "")
    assert phone.get(f"/lot/{lot}").status_code == 200
    assert phone.get(f"/01/06291041500213/10/{lot}").headers["location"] == f"/lot/{lot}"


def test_two_phones_and_a_command_at_once_lose_nothing(served: Served) -> None:
    """Forty sales from three sides: the book says what they add up to."""
    from concurrent.futures import ThreadPoolExecutor

    from soapstock.enter.move import ship

    lot = max(lots(served, "ready"), key=lambda code: bars_left(served, code))
    before, sold = bars_left(served, lot), 0
    with served.phone(name="one") as one, served.phone("Bo", name="two") as two:

        def tap(client: httpx.Client) -> int:
            return send(client, lot, "sell", bars="1", customer="Quay market").status_code

        def command(_: object) -> int:
            with served.site.open("Cy") as desk:
                ship(desk, lot, 1, customer="gate")
            return 200

        with ThreadPoolExecutor(3) as hands:
            each = max(1, min(6, before // 3))
            done = [hands.submit(tap, c) for c in (one, two) for _ in range(each)]
            done += [hands.submit(command, None) for _ in range(each)]
            sold = sum(one.result() == 200 for one in done)
    assert sold == 3 * each
    assert bars_left(served, lot) == before - sold


def bars_left(served: Served, lot: str) -> int:
    """Bars of a lot in hand."""
    from soapstock.desk.finding import read_lot

    with served.site.open() as desk, desk.ledger.read() as reader:
        return reader.batch(read_lot(desk, lot)).in_hand


def test_long_lists_come_in_parts(
    served: Served, phone: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each row stands on one part; an odd number in the address is the beginning."""
    whole = phone.get("/shelf?place=rack").text
    monkeypatch.setattr("soapstock.page.shop.COUNTS", 4)
    address, seen = "/shelf?place=rack", []
    while address:
        text = phone.get(address).text
        seen += re.findall(r'action="(/lot/[^"]+/count)"', text)
        onward = re.search(r'<a class="button" href="([^"]+after=[^"]+)"', text)
        address = onward[1].replace("&amp;", "&") if onward else ""
    assert seen == re.findall(r'action="(/lot/[^"]+/count)"', whole)
    assert len(seen) > 8
    for odd in ("-1", "x", "9" * 30, "\u00b2"):
        assert phone.get("/shelf", params={"place": "rack", "after": odd}).status_code == 200
