"""The cut book as one page for phone and paper."""
