"""Start a shop, the demo, audit, backup, restore, migrate."""
