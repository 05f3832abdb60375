"""`python -m soapstock` and the `soapstock` command."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    from soapstock.cli.app import app

    app(prog_name="soapstock")


if __name__ == "__main__":
    main()
