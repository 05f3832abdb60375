"""Lot codes, their check characters, and the GS1 forms that carry them on labels. Pure."""
