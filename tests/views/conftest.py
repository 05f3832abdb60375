"""Desks at the demo shop and at an empty one."""

from tests.desks import desk, empty

__all__ = ["desk", "empty"]
