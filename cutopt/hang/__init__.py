"""Chosen sources → backers, screws, pin holes, supports and sealed ends."""

from cutopt.hang.hanging import blade, hang
from cutopt.hang.records import Board, HungSource, PlacedSupport, Rest, Screwed, SealedEnd, Wood
from cutopt.hang.supports import supports_of

__all__ = [
    "Board", "HungSource", "PlacedSupport", "Rest", "Screwed", "SealedEnd", "Wood", "blade", "hang", "supports_of",
]  # fmt: skip
