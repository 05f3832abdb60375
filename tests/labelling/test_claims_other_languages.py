"""Claims in French, German, Spanish and Dutch: found in any ending, denied, and left alone.

The sentences are ours; what each kind of claim makes of a bar is checked in tests/published.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.labelling.claim_lists import claim_languages
from soapstock.labelling.claims import check_claims, verdict

HONEST = [
    ("fr", "Pain de savon en relief, fait à la main avec de l'huile d'olive et du suif."),
    ("fr", "Cure de 35 jours ; coloré à la garance, sent la lavande. Mousse crémeuse."),
    ("fr", "Nous traitons nos brebis avec soin. La soude est dissoute dans l'eau."),
    ("de", "Seife aus Olivenöl und Talg, 35 Tage auf Eschenholz gereift; riecht nach Lavendel."),
    ("de", "Wir behandeln unsere Schafe gut. Gefärbt mit Krapp, cremiger Schaum."),
    ("es", "Jabón de aceite de oliva y sebo, curado 35 días; huele a lavanda. Espuma cremosa."),
    ("es", "Tratamos bien a nuestras ovejas. Teñido con rubia y arcilla."),
    ("nl", "Zeep van olijfolie en talg, 35 dagen gerijpt; ruikt naar lavendel. Romig schuim."),
    ("nl", "Wij behandelen onze schapen goed. Gekleurd met meekrap en klei."),
]
CLAIMS = [
    ("fr", "Ce savon traite l’acné", "drug"),
    ("fr", "Soulage les démangeaisons", "drug"),
    ("fr", "TUE 99 % DES BACTERIES", "drug"),
    ("fr", "Cicatrisante et apaisante", "drug"),
    ("fr", "Hydratante et nourrissante", "cosmetic"),
    ("fr", "laisse la peau douce", "cosmetic"),
    ("fr", "Exfoliant doux", "cosmetic"),
    ("de", "Diese Seife heilt Wunden", "drug"),
    ("de", "Hilft bei Neurodermitis", "drug"),
    ("de", "tötet 99 % aller Bakterien", "drug"),
    ("de", "entzündungshemmende Kräuter", "drug"),
    ("de", "Feuchtigkeitsspendende Seife", "cosmetic"),
    ("de", "macht die Haut weich", "cosmetic"),
    ("de", "sanftes Peeling", "cosmetic"),
    ("es", "Trata el acné", "drug"),
    ("es", "Calma los picores", "drug"),
    ("es", "Elimina el 99 % de las bacterias", "drug"),
    ("es", "con hierbas curativas", "drug"),
    ("es", "Jabón hidratante", "cosmetic"),
    ("es", "deja la piel suave", "cosmetic"),
    ("es", "exfoliación suave", "cosmetic"),
    ("nl", "Behandelt acne", "drug"),
    ("nl", "Helpt bij eczeem", "drug"),
    ("nl", "doodt 99 % van de bacteriën", "drug"),
    ("nl", "ontstekingsremmende kruiden", "drug"),
    ("nl", "Hydraterende zeep", "cosmetic"),
    ("nl", "maakt de huid zacht", "cosmetic"),
    ("nl", "zachte scrub", "cosmetic"),
]
DENIED = [
    ("fr", "Il ne traite pas l'acné."),
    ("fr", "Ce n’est pas antibactérien."),
    ("fr", "Ce savon ne guérit aucune plaie."),
    ("fr", "Sans agent hydratant."),
    ("de", "Behandelt keine Akne."),
    ("de", "Hilft nicht gegen Akne."),
    ("de", "Nicht antibakteriell."),
    ("de", "Ohne desinfizierende Zusätze."),
    ("es", "No trata el acné."),
    ("es", "Nunca decimos que cure el eccema."),
    ("es", "Sin agentes hidratantes."),
    ("nl", "Behandelt geen acne."),
    ("nl", "Niet antibacterieel."),
    ("nl", "Zonder hydraterende stoffen."),
]
NOT_ONLY = [
    ("fr", "Non seulement hydratant."),
    ("fr", "Il ne nettoie pas seulement, il hydrate."),
    ("fr", "Sans parfum, antibactérien."),
    ("de", "Nicht nur feuchtigkeitsspendend."),
    ("de", "Ohne Duft, antibakteriell."),
    ("de", "Heilt die Haut und trocknet nicht aus."),
    ("es", "No solo hidrata."),
    ("es", "Sin perfume, hidratante."),
    ("nl", "Niet alleen hydraterend."),
    ("nl", "Geen palmolie maar wel hydraterend."),
]


@pytest.mark.parametrize(("language", "text"), HONEST)
@pytest.mark.parametrize("market", ["us-soap", "eu", "ca"])
def test_honest_words_are_left_alone(language: str, text: str, market: str) -> None:
    """By their own list, and by all the lists of the market at once."""
    for lists in (language, None):
        assert verdict(check_claims(text, market, lists)) in (None, "note")


@pytest.mark.parametrize(("language", "text", "becomes"), CLAIMS)
def test_a_claim_is_found_in_any_ending(language: str, text: str, becomes: str) -> None:
    """Accents, capitals, elisions, compounds and endings."""
    hits = check_claims(text, "us-soap", language)
    assert verdict(hits) == becomes
    assert hits[0].language == language
    assert hits[0].plainer


@pytest.mark.parametrize(("language", "text", "becomes"), CLAIMS)
def test_the_eu_finds_drug_claims_without_being_told_the_language(
    language: str, text: str, becomes: str
) -> None:
    """A cosmetic claim may stand there, a drug claim may not; each citing European law."""
    found = verdict(check_claims(text, "eu"))
    assert found == ("drug" if becomes == "drug" else None)


@pytest.mark.parametrize(("language", "text"), DENIED)
def test_a_denied_claim_is_told_but_does_not_count(language: str, text: str) -> None:
    """Before the verb or after it, as the language has it."""
    hits = check_claims(text, "us-soap", language)
    assert hits
    assert verdict(hits) is None


@pytest.mark.parametrize(("language", "text"), NOT_ONLY)
def test_what_denies_something_else_denies_nothing_here(language: str, text: str) -> None:
    """'Not only', a comma, 'but' and 'and' stop a denial."""
    assert verdict(check_claims(text, "us-soap", language)) is not None


def test_a_word_two_lists_share_is_denied_when_one_sees_it_denied() -> None:
    """Spanish and English both know 'antibacterial'; only one knows 'jamás'."""
    hits = check_claims("Jamás antibacterial", "eu")
    assert [hit.denied for hit in hits] == [True]


def test_european_notes_cite_the_claim_criteria() -> None:
    """'Sans parabènes' and 'hypoallergen' come with (EU) 655/2013 and plainer words."""
    hits = check_claims("Sans parabènes. Hypoallergene Seife.", "eu")
    assert {hit.language for hit in hits} == {"fr", "de"}
    assert all("655/2013" in hit.citation and hit.confidence == "our own" for hit in hits)


def test_canada_reads_english_and_french() -> None:
    """Both lists at once, and Canada's own law."""
    hits = check_claims("Treats acne. Traite l'acné.", "ca")
    assert [(hit.language, hit.becomes) for hit in hits] == [("en", "drug"), ("fr", "drug")]
    assert all("Food and Drugs Act" in hit.citation for hit in hits)


@given(st.text(max_size=200), st.sampled_from(claim_languages()))
def test_any_text_is_survived_and_every_phrase_is_in_it(text: str, language: str) -> None:
    """No text breaks a check, and a hit quotes the text itself."""
    for hit in check_claims(text, "us-soap", language):
        assert hit.phrase in text


def test_a_word_of_one_language_is_no_stem_of_another() -> None:
    """French 'sans' is not the Spanish verb for healing."""
    hits = check_claims("Traite l'acné, sans parabènes", "eu")
    assert [hit.phrase for hit in hits] == ["Traite", "sans parabènes"]
