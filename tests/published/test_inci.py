"""Label names against the European inventory, and CAS numbers against a reference package.

Sources: export of the CosIng ingredient inventory, 2026 (28 712 names), read; `chemicals` (its
identifier tables); python-stdnum (CAS check digits).
"""

import pytest
from stdnum import casrn

from soapstock.errors import NotFound
from soapstock.labelling.allergens import all_allergens
from soapstock.labelling.names import all_materials, find_material, name_of

# CosIng export: fat, EU name of the fat, sodium salt, potassium salt (None: not in the export).
FATS = [
    ("coconut", "Cocos Nucifera Oil", "Sodium Cocoate", "Potassium Cocoate"),
    ("olive", "Olea Europaea Fruit Oil", "Sodium Olivate", "Potassium Olivate"),
    ("avocado", "Persea Gratissima Oil", "Sodium Avocadoate", None),
    ("palm", "Elaeis Guineensis Oil", "Sodium Palmate", "Potassium Palmate"),
    (
        "palm-kernel",
        "Elaeis Guineensis Kernel Oil",
        "Sodium Palm Kernelate",
        "Potassium Palm Kernelate",
    ),
    (
        "sunflower",
        "Helianthus Annuus Seed Oil",
        "Sodium Sunflowerseedate",
        "Potassium Sunflowerseedate",
    ),
    ("castor", "Ricinus Communis Seed Oil", "Sodium Castorate", "Potassium Castorate"),
    ("shea", "Butyrospermum Parkii Butter", "Sodium Shea Butterate", "Potassium Shea Butterate"),
    ("cocoa-butter", "Theobroma Cacao Seed Butter", "Sodium Cocoa Butterate", None),
    ("rice-bran", "Oryza Sativa Bran Oil", None, None),
    ("almond", "Prunus Amygdalus Dulcis Oil", "Sodium Sweet Almondate", None),
    ("grapeseed", "Vitis Vinifera Seed Oil", "Sodium Grapeseedate", None),
    ("jojoba", "Simmondsia Chinensis Seed Oil", None, "Potassium Jojobate"),
    ("hemp", "Cannabis Sativa Seed Oil", None, "Potassium Hempseedate"),
    ("babassu", "Orbignya Oleifera Seed Oil", "Sodium Babassuate", "Potassium Babassuate"),
    ("soybean", "Glycine Soja Oil", "Sodium Soyate", "Potassium Soyate"),
    ("lard", "Adeps Suillus", "Sodium Lardate", None),
]


@pytest.mark.parametrize(("key", "name", "sodium", "potassium"), FATS)
def test_fats_and_their_soaps_have_the_inventory_s_names(
    key: str, name: str, sodium: str | None, potassium: str | None
) -> None:
    """CosIng names; a soap that is not in the export has none, and none is made up."""
    assert name_of(key, style="eu") == name
    if sodium is None:
        with pytest.raises(NotFound):
            name_of(key, style="eu", as_salt="sodium")
    else:
        assert name_of(key, style="eu", as_salt="sodium") == sodium
    if potassium is None:
        with pytest.raises(NotFound):
            name_of(key, style="eu", as_salt="potassium")
    else:
        assert name_of(key, style="eu", as_salt="potassium") == potassium


def test_tallow_has_either_of_its_two_names() -> None:
    """CosIng holds both TALLOW and ADEPS BOVIS with one CAS number."""
    assert name_of("beef-tallow", style="eu") in ("Tallow", "Adeps Bovis")
    assert name_of("beef-tallow", style="eu", as_salt="sodium") == "Sodium Tallowate"


# CosIng Annex IV export: colours usable in soap without product restriction.
@pytest.mark.parametrize(
    ("key", "index"),
    [
        ("ultramarine", "77007"),
        ("chromium-oxide-green", "77288"),
        ("chromium-hydroxide-green", "77289"),
        ("red-iron-oxide", "77491"),
        ("yellow-iron-oxide", "77492"),
        ("black-iron-oxide", "77499"),
        ("manganese-violet", "77742"),
        ("titanium-dioxide", "77891"),
        ("zinc-oxide", "77947"),
    ],
)
def test_colours_have_their_index_number_in_the_eu(key: str, index: str) -> None:
    """Annex IV of Regulation (EC) No 1223/2009."""
    assert name_of(key, style="eu") == f"CI {index}"


def test_mica_has_no_index_number() -> None:
    """CI 77019 is not in the Annex IV export: mica is listed as mica."""
    assert name_of("mica", style="eu") == "Mica"


def test_every_cas_number_of_a_material_has_its_check_digit() -> None:
    """python-stdnum."""
    for material in all_materials().values():
        assert not material.cas or casrn.is_valid(material.cas), material.key


def test_allergens_that_are_one_substance_have_the_reference_s_cas_number() -> None:
    """`chemicals`, looked up by name, gives a CAS number of the entry, for all names it knows."""
    from chemicals.identifiers import CAS_from_any

    agreed = 0
    for name, allergen in all_allergens().items():
        try:
            cas = CAS_from_any(name.lower())
        except ValueError:
            continue  # the package does not know the trade's name
        if (name, cas) == ("Cinnamal", "14371-10-9"):
            continue  # the package means the trans form; the entry lists the unspecified one
        assert cas in allergen.cas, f"{name}: {cas} is not among {allergen.cas}"
        agreed += 1
    assert agreed >= 30


def test_the_two_entries_from_memory_are_confirmed_by_the_reference() -> None:
    """Benzyl benzoate and salicylaldehyde, missing in the rows read, agree with `chemicals`."""
    from chemicals.identifiers import CAS_from_any

    for name in ("Benzyl Benzoate", "Salicylaldehyde"):
        assert all_allergens()[name].cas == (CAS_from_any(name.lower()),)


# CAS numbers and names that stood wrong. Ultramarines: blue 57455-37-5, violet 12769-96-9 (read);
# the rest FROM MEMORY of the glossary.
@pytest.mark.parametrize(
    ("key", "cas"),
    [("ultramarine", "57455-37-5"), ("ultramarine-violet", "12769-96-9"), ("vitamin-e", "59-02-9")],
)
def test_a_material_has_the_number_of_its_own_form(key: str, cas: str) -> None:
    """The blue is not the violet, and vitamin E is alpha-tocopherol, not the gamma form."""
    material = find_material(key)
    assert material is not None
    assert material.cas == cas


@pytest.mark.parametrize(
    ("key", "eu"),
    [
        ("tea", "Camellia Sinensis Leaf Extract"),
        ("silk", "Serica"),
        ("dissolved-silk", "Hydrolyzed Silk"),
        ("charcoal", "Charcoal Powder"),
    ],
)
def test_a_material_is_named_for_what_it_is(key: str, eu: str) -> None:
    """Brewed tea is no distillate (Leaf Water); silk gone in the lye is hydrolysed."""
    assert name_of(key, style="eu") == eu


def test_vitamin_e_s_number_is_the_reference_s() -> None:
    """`chemicals`, by name: alpha-tocopherol."""
    from chemicals.identifiers import CAS_from_any

    material = find_material("tocopherol")
    assert material is not None
    assert CAS_from_any("alpha-tocopherol") in (material.cas, "10191-41-0")


def test_seaweed_alone_is_no_name() -> None:
    """Kelp is Laminaria, bladderwrack Fucus: the word for all of them names neither."""
    assert find_material("seaweed") is None
