"""soapstock: batch ledger, cure tracking, stock and labels for farm-made bar soap."""

__version__ = "0.1.0"
