"""Where the label designs and the demo shop's data stand, installed or in a checkout."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from soapstock.errors import BadTable

PACKAGE = Path(__file__).parent.parent


def shipped_dir(kind: Literal["labels", "sample_data"]) -> Path:
    """The folder `labels` or `sample_data`: of the installed package, else of the checkout.

    Raises:
        BadTable: neither folder exists.
    """
    for folder in (PACKAGE / "_shipped" / kind, PACKAGE.parent / kind):
        if folder.is_dir():
            return folder
    raise BadTable(f"folder '{kind}' is missing", hint="install soapstock again")
