"""The journal and its chart of accounts as files for the accountant."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.exchange.tabular import csv_text
from soapstock.exchange.text_file import write_text_file

if TYPE_CHECKING:
    from soapstock.views.journal import Journal


def write_journal(told: Journal, path: Path) -> int:
    """The lines as CSV; how many there are. Raises BadInput."""
    write_text_file(path, csv_text(told.rows), ".csv")
    return len(told.rows)


def write_chart(told: Journal, path: Path) -> int:
    """The chart of accounts as CSV; how many accounts it has. Raises BadInput."""
    write_text_file(path, csv_text(told.chart), ".csv")
    return len(told.chart)
