"""Write the list of customers to tell."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.exchange.tabular import csv_text
from soapstock.exchange.text_file import write_text_file

if TYPE_CHECKING:
    from soapstock.views.follow import CustomerRow


def write_customers(path: Path, customers: tuple[CustomerRow, ...]) -> None:
    """Whom to tell, as CSV; cells that a spreadsheet would run are disarmed. Raises BadInput."""
    heads = "customer,contact,destination,lot,bars,shipped_on,order\n"
    write_text_file(path, csv_text(customers) or heads, ".csv")
