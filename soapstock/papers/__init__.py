"""A view on paper or in a file."""
