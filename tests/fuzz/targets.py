"""What the maker, a supplier's file or a scanner may feed us, each as a function of bytes.

A target may refuse with a SoapstockError; anything else is a finding. tests/fuzz/test_targets.py
plays a few inputs on each; `python -m tests.fuzz.run` plays many, with hypothesis or atheris.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from soapstock.chemistry.certificates import read_sv
from soapstock.codes import gs1, lot, reading
from soapstock.desk.allergen_file import parse_certificates
from soapstock.enter.rebatch import parse_rebatch
from soapstock.errors import MOST_TOLD, SoapstockError
from soapstock.exchange.order_csv import OWN, read_mapping, read_orders
from soapstock.exchange.weights_csv import parse_weights
from soapstock.labelling.claims import check_claims
from soapstock.papers.designs import parse_offset
from soapstock.papers.labels import read_list
from soapstock.recipes.own_fats import read_own_fats
from soapstock.recipes.recipe import parse_recipe
from soapstock.render.label.designs import parse_face, parse_sheet
from soapstock.scan.picture import codes_in_picture
from soapstock.shop import load_shop
from soapstock.units import parse_length_mm, parse_mass_g, parse_temperature_c, parse_volume_ml
from tests.conftest import CHECKOUT

Target = Callable[[bytes], object]


def text_of(data: bytes) -> str:
    """The bytes as text, as a terminal or a lenient editor would give it."""
    return data.decode("utf-8", "replace")


def in_file(name: str, read: Callable[[Path], object]) -> Target:
    """A target that reads a file of that name."""

    def target(data: bytes) -> object:
        with tempfile.TemporaryDirectory(prefix="soapstock-fuzz-") as work:
            path = Path(work) / name
            path.write_bytes(data)
            return read(path)

    return target


TARGETS: dict[str, Target] = {
    "code": lambda data: reading.read_code(text_of(data)),
    "lot-code": lambda data: (lot.is_valid(text_of(data)), lot.near_codes(text_of(data), ["A1"])),
    "element-string": lambda data: gs1.parse_element_string(text_of(data)),
    "gtin": lambda data: gs1.validate_gtin(text_of(data)),
    "web": lambda data: gs1.web_root(text_of(data)),
    "mass": lambda data: parse_mass_g(text_of(data)),
    "length": lambda data: parse_length_mm(text_of(data)),
    "volume": lambda data: parse_volume_ml(text_of(data)),
    "temperature": lambda data: parse_temperature_c(text_of(data)),
    "certificate": lambda data: read_sv(text_of(data)),
    "offset": lambda data: parse_offset(text_of(data)),
    "rebatch": lambda data: parse_rebatch(text_of(data)),
    "claims": lambda data: check_claims(text_of(data)[:4000], "us-soap"),
    "orders": lambda data: read_orders(text_of(data), OWN, "orders.csv"),
    "weights": lambda data: parse_weights(text_of(data), "bars.csv"),
    "allergens": lambda data: parse_certificates(text_of(data), "allergens.csv"),
    "fats": lambda data: read_own_fats(text_of(data), "fats.toml"),
    "recipe": lambda data: parse_recipe(text_of(data), "recipe.toml"),
    "face": lambda data: parse_face(text_of(data), "face", "face.toml"),
    "sheet": lambda data: parse_sheet(text_of(data), "sheet", "sheet.toml"),
    "mapping": lambda data: read_mapping(text_of(data), "mapping.toml"),
    "shop": in_file("shop.toml", lambda path: load_shop(path.parent)),
    "labels": in_file("run.csv", read_list),
    "picture": in_file("picture.png", codes_in_picture),
}


def play(name: str, data: bytes) -> str:
    """Feed a target; `taken` or `refused`. Anything but a SoapstockError is raised."""
    try:
        TARGETS[name](data)
    except SoapstockError as refused:
        return _refused(refused)
    return "taken"


def _refused(error: SoapstockError) -> str:
    said = error.message + error.hint
    assert error.message.strip(), "a refusal without a word"
    assert said.isprintable(), f"more than one line, or controls: {said!r}"
    assert len(said) <= 2 * MOST_TOLD, f"{len(said)} characters are told"
    return "refused"


def seeds(name: str) -> list[bytes]:
    """Good examples, for a fuzzer to begin from."""
    heads = {
        "orders": b"order,customer,recipe,bars,wanted_by,price\n"
        b"A-1,Invented,DRF,6,2026-12-01,9.50\n",
        "weights": b"gross_g,tare_g\n114.1,2.0\n113.9,2.1\n",
        "allergens": b"scent,allergen,percent\nlavender-oil,linalool,32.5\n",
        "labels": b"lot,copies\nDRF-26241-AZ,4\n",
        "code": b"https://soap.example/01/09506000134352/10/DRF26241AZ",
        "lot-code": b"DRF-26241-AZ",
        "element-string": b"(01)09506000134352(10)DRF26241AZ",
        "gtin": b"9506000134352",
        "web": b"https://soap.example",
        "mass": b"1 lb 4.5 oz",
        "length": b"90 mm",
        "volume": b"1.5 l",
        "temperature": b"104 F",
        "certificate": b"194-198",
        "offset": b"1.5,-0.2",
        "rebatch": b"DRF-26241-AZ=12:1180g@rack",
        "claims": b"Plain soap, scented with cedarwood. Heals eczema.",
        "mapping": b'date_format = "%d/%m/%Y"\n[columns]\norder = "No"\ncustomer = "Name"\n'
        b'recipe = "Item"\nbars = "Qty"\n',
        "fats": b'[[fats]]\nkey = "emu"\nname = "Emu"\ninci = "Emu Oil"\nsv_low = 185\n'
        b'sv_high = 200\nsource = "s"\n',
    }
    if name in heads:
        return [heads[name]]
    patterns = {
        "recipe": "sample_data/recipes/*.toml",
        "face": "labels/faces/*.toml",
        "sheet": "labels/sheets/*.toml",
        "picture": "labels/proofs/faces/lot.png",
    }
    if name in patterns:
        return [path.read_bytes() for path in sorted(CHECKOUT.glob(patterns[name]))[:3]]
    return [b'maker = "M"\naddress = ["1 Lane"]\nmarket = "us-soap"\nby = "me"\n']
