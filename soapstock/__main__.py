"""`python -m soapstock` and the `soapstock` command."""

from __future__ import annotations

import gc


def main() -> None:
    """Run the command line."""
    # Nearly all that a short command makes is code and tables that stay to its end: looking for
    # dead cycles at the usual pace costs a tenth of its time and finds none.
    gc.set_threshold(50_000, 20, 100)
    from soapstock.cli.app import app

    app(prog_name="soapstock")


if __name__ == "__main__":
    main()
