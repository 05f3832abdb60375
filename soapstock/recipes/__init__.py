"""A recipe, its scaling to the fat at hand, and the check of what was really weighed: pure."""
