"""The shop's own allergen certificates, read from its folder."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from pathlib import Path

from soapstock.errors import BadInput
from soapstock.exchange.text_file import read_text_file
from soapstock.labelling.allergens import find_allergen
from soapstock.labelling.names import find_material
from soapstock.tables.csv_text import csv_cells

FILE = "allergens.csv"
COLUMNS = ["scent", "allergen", "percent"]
WHOLE_PERCENT = 100


def load_certificates(folder: Path) -> Mapping[str, Mapping[str, Decimal]]:
    """Allergen percentages by scent key, from the shop's allergens.csv; empty without the file.

    Raises:
        BadInput: another heading, an unknown allergen, a figure not 0 to 100, or one given twice;
            says the line.
    """
    path = folder / FILE
    if not path.exists():
        return {}
    return parse_certificates(read_text_file(path, "allergen file"), str(path))


def parse_certificates(text: str, where: str) -> Mapping[str, Mapping[str, Decimal]]:
    """Allergen percentages by scent key, from a CSV text; see load_certificates."""
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    at = lines[0][0] if lines else 1
    head = [cell.lower() for cell in csv_cells(lines[0][1], f"{where}:{at}")] if lines else []
    if head != COLUMNS:
        raise BadInput(f"{where}:{at}: the heading is not {','.join(COLUMNS)}")
    found: dict[str, dict[str, Decimal]] = {}
    for number, line in lines[1:]:
        scent, allergen, percent = _row(csv_cells(line, f"{where}:{number}"), f"{where}:{number}")
        given = found.setdefault(scent, {})
        if allergen in given:
            raise BadInput(f"{where}:{number}: {allergen} of {scent} is given twice")
        given[allergen] = percent
    return found


def _row(cells: list[str], where: str) -> tuple[str, str, Decimal]:

    if len(cells) != len(COLUMNS):
        raise BadInput(f"{where}: {len(cells)} cells, not {len(COLUMNS)}")
    scent, allergen, text = cells
    if not scent:
        raise BadInput(f"{where}: no scent is named")
    material = find_material(scent)
    try:
        percent = Decimal(text.removesuffix("%").strip())
    except InvalidOperation:
        raise BadInput(f"{where}: percent '{text}' is not a number") from None
    if not percent.is_finite() or not 0 <= percent <= WHOLE_PERCENT:
        raise BadInput(f"{where}: percent {text} is not 0 to 100")
    try:
        name = find_allergen(allergen)
    except BadInput as err:
        raise err.within(where) from None
    return (material.key if material is not None else scent), name, percent
