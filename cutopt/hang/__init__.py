"""Chosen sources → backers, screws, pin holes, supports and sealed ends."""

from cutopt.hang.hanging import hang
from cutopt.hang.records import Board, HungSource, PlacedSupport, Rest, Screwed, SealedEnd, Stretch, Wood
from cutopt.hang.supports import supports_of

__all__ = [
    "Board", "HungSource", "PlacedSupport", "Rest", "Screwed", "SealedEnd", "Stretch", "Wood", "hang", "supports_of",
]  # fmt: skip
