"""What lots cost and where the cost went, to the cent. Pure: it is given what the ledger holds.

Amounts are whole cents of the shop's one currency; no currency is converted. A share of an amount
is rounded so that the shares always add up to it (see share.py).
"""
