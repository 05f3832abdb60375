"""The words of a saved shop page."""

from hypothesis import given
from hypothesis import strategies as st

from soapstock.exchange.html_words import looks_like_html, page_words
from soapstock.labelling.claims import check_claims

PAGE = """<!doctype html>
<html><head><title>Driftwood</title>
<meta name="description" content="Treats acne">
<script>
var x = "heals";
</script></head>
<body><h1>Our soap</h1>
<p>It is <b>moistur</b>izing &amp; plain.</p>
<!-- kills germs -->
<p>No palm oil</p><p>Antibacterial</p>
</body></html>
"""


def test_a_page_is_told_from_plain_text() -> None:
    """A tag makes a page; a smaller-than sign does not."""
    assert looks_like_html(PAGE)
    assert not looks_like_html("loss < 1 % a week")


def test_claims_are_found_on_the_page_s_own_lines() -> None:
    """Words broken by bold type, and those search engines show; not scripts and remarks."""
    hits = {(hit.phrase, hit.line) for hit in check_claims(page_words(PAGE), "us-soap")}
    assert hits == {("Treats", 3), ("moisturizing", 8), ("Antibacterial", 10)}


def test_a_paragraph_ends_the_clause() -> None:
    """'No palm oil' in one paragraph denies nothing in the next."""
    hit = next(h for h in check_claims(page_words(PAGE), "us-soap") if h.phrase == "Antibacterial")
    assert not hit.denied


@given(st.text(alphabet="<>/pbscriptyle!-= \"'\n&;a", max_size=200))
def test_any_text_keeps_its_lines(text: str) -> None:
    """No broken page crashes it or moves a line."""
    assert page_words(text).count("\n") >= text.count("\n")


def test_what_is_never_closed_is_hidden_to_the_end() -> None:
    """As a browser has it; looking for each end again would take the square of the page."""
    page = "<p>Plain soap</p>" + "<script>heals " * 40_000
    assert page_words(page).replace("\u2022", " ").split() == ["Plain", "soap"]
