"""`python -m soapstock` and the `soapstock` command."""

from __future__ import annotations

import atexit
import gc


def main() -> None:
    """Run the command line."""
    # Nearly all that a short command makes is code and tables that stay to its end. Looking for
    # dead cycles among them at the usual pace, and once more at the end, is a quarter of its time.
    gc.set_threshold(50_000, 20, 100)
    atexit.register(gc.freeze)
    from soapstock.cli.frame.app import app

    app(prog_name="soapstock")


if __name__ == "__main__":
    main()
