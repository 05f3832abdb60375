"""The append-only, double-entry ledger: the only room with a database.

Facts go in once by a Writer; a mistake is corrected by an entry that reverses it. Everything else,
a batch's state above all, is read from the facts.
"""
