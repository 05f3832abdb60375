"""Fats and their ranges, lye, heat of the lye solution, composition: pure functions, no files."""
