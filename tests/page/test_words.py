"""The page's words stand in one file, and say all that can be said; its HTML is HTML."""

from __future__ import annotations

import re
import string
from pathlib import Path
from typing import get_args

import httpx
import pytest

from soapstock.cli.frame.mends import WORDS
from soapstock.errors import MendKey
from soapstock.page import words
from soapstock.page.forms import FORMS
from soapstock.page.site import HERE
from soapstock.views.today import What
from tests.page.served import Served, parsed
from tests.page.test_enter import lots

PAGES = ["/", "/scan", "/stock", "/market", "/market?name=Quay", "/shelf", "/shelf?place=rack"]


def test_every_mend_has_words_of_the_page() -> None:
    """For the same keys as the command line's, with the same values."""
    mine = {k[5:]: text for k, text in words.all_words().items() if k.startswith("mend.")}
    assert set(mine) == set(get_args(MendKey))
    for key, text in mine.items():
        names = {name for _, name, _, _ in string.Formatter().parse(text) if name}
        others = {n for _, n, _, _ in string.Formatter().parse(WORDS[key]) if n}  # type: ignore[index]
        assert names <= others, key
        assert "--" not in text
        assert "soapstock " not in text


def test_every_step_and_form_has_words() -> None:
    """A step that is new in the view needs a word here."""
    known = words.all_words()
    assert {f"step.{what}" for what in get_args(What)} <= known.keys()
    for form in FORMS.values():
        assert {f"form.{form.key}.{part}" for part in ("title", "help", "send")} <= known.keys()
        for field in form.fields:
            assert {f"field.{field.name}.label", f"field.{field.name}.help"} <= known.keys()
            for choice in field.choices:
                assert f"choice.{field.name}.{choice or 'none'}" in known


@pytest.mark.parametrize("path", sorted((HERE / "templates").glob("*.html")), ids=lambda p: p.name)
def test_no_english_stands_in_a_template(path: Path) -> None:
    """What is left without tags and what is filled in has no letter."""
    text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", "", path.read_text(), flags=re.DOTALL)
    shown = re.sub(r"<[^>]*>", "", text)
    assert not re.search(r"[A-Za-z]{2,}", shown.replace(" g", "")), shown


def test_every_page_is_strict_html(served: Served, phone: httpx.Client) -> None:
    """Parsed by html5lib (WHATWG HTML, section 13.2), any parse error fails."""
    batches = [f"/lot/{lots(served, state)[0]}" for state in ("curing", "ready", "on hold")]
    forms = [f"{batches[0]}/{key}" for key in FORMS]
    with served.site.open() as desk, desk.ledger.read() as reader:
        ingredients = [f"/lot/{lot.lot_code.shown}" for lot in reader.ingredient_lots()]
    for path in [*PAGES, "/phones", "/pair", "/nope", *batches, *forms, *ingredients]:
        answer = phone.get(path)
        assert answer.status_code in (200, 404), (path, answer.text)
        parsed(answer.text)
        assert len(answer.content) <= 40_000, path


def test_cautions_stand_where_lye_is(served: Served, phone: httpx.Client) -> None:
    """On each batch's page and on the page of a lot of lye."""
    with served.site.open() as desk, desk.ledger.read() as reader:
        lye = next(lot for lot in reader.ingredient_lots() if lot.ingredient == "naoh")
    for path in (f"/lot/{lots(served, 'curing')[0]}", f"/lot/{lye.lot_code.shown}"):
        text = phone.get(path).text
        for word in ("goggles", "water to lye", "aluminium", "Vinegar", "children"):
            assert word in text, (path, word)
