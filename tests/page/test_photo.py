"""A photo by the page: kept once, shown to paired phones alone, without its place."""

from __future__ import annotations

import httpx

from tests.enter.test_photo import picture
from tests.page.served import Served, form, parsed
from tests.page.test_enter import entries, lots


def test_a_photo_is_kept_once_and_shown(served: Served, phone: httpx.Client) -> None:
    """Sent twice it stands once; its page is strict HTML; a stranger does not see it."""
    lot = lots(served, "curing")[0]
    where, before = f"/lot/{lot}/photo", len(entries(served))
    fields = form(phone.get(where).text, where)
    fields.pop("picture")
    for said in ("Kept a photo", "recorded already"):
        files = {"picture": ("x.png", picture(), "image/png")}
        answer = phone.post(where, data={**fields, "note": "ash"}, files=files)
        assert answer.status_code == 200, answer.text
        assert said in answer.text
    new = entries(served)[before:]
    assert [by for by, _ in new] == ["Ada"]
    page = phone.get(f"/lot/{lot}").text
    (shown,) = {e.get("src") for e in parsed(page).iter() if str(e.tag).endswith("}img")}
    seen = phone.get(shown)
    assert seen.headers["content-type"] == "image/jpeg"
    assert seen.content[:2] == b"\xff\xd8"
    with served.client() as stranger:
        assert stranger.get(shown).status_code == 401


def test_what_is_no_photo_enters_nothing(served: Served, phone: httpx.Client) -> None:
    """A text, nothing, a forged form, a lot of nothing."""
    lot = lots(served, "curing")[0]
    where, before = f"/lot/{lot}/photo", len(entries(served))
    fields = form(phone.get(where).text, where)
    fields.pop("picture")
    files = {"picture": ("x.jpg", b"<script>", "image/jpeg")}
    assert phone.post(where, data=fields, files=files).status_code == 400
    assert phone.post(where, data=fields).status_code == 400
    forged = {**fields, "token": "0" * 64}
    assert phone.post(where, data=forged, files=files).status_code == 403
    assert phone.get("/photo/99999").status_code == 404
    assert len(entries(served)) == before
