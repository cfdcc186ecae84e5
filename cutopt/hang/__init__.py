"""Chosen sources → backers, screws, pin holes, supports and sealed ends."""

from cutopt.hang.hanging import hang
from cutopt.hang.records import Board, HungSource, PlacedSupport, Rest, Screwed, SealedEnd, Stretch, Wood
from cutopt.hang.sawnapart import crosscut_saw
from cutopt.hang.supports import supports_of

__all__ = [
    "Board", "HungSource", "PlacedSupport", "Rest", "Screwed", "SealedEnd", "Stretch", "Wood",
    "crosscut_saw", "hang", "supports_of",
]  # fmt: skip
