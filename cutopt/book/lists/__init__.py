"""The lists as CSV."""
