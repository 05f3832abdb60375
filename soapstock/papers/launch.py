"""Write the list that the messages of a launch are sent from."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from soapstock.exchange.tabular import csv_text
from soapstock.exchange.text_file import write_text_file
from soapstock.views.launch import ShareRow


def write_messages(path: Path, rows: Sequence[ShareRow]) -> None:
    """Whom to write, and what they get, as CSV; disarmed for spreadsheets. Raises BadInput."""
    write_text_file(path, csv_text(rows), ".csv")
