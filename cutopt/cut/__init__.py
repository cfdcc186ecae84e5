"""Pieces + fits → sources with placements, the order of their saw cuts, and a proven bound on their number."""

from cutopt.cut.bounding import Loosely, least_price
from cutopt.cut.cutting import cut
from cutopt.cut.pack import pack
from cutopt.cut.records import CutPlan, CutTile, Pattern, PieceClass, Place, SawCut, SawTree
from cutopt.cut.solving import TILE_MINUTES
from cutopt.cut.stock import Stock, sort_pieces

__all__ = [
    "TILE_MINUTES",
    "CutPlan",
    "CutTile",
    "Loosely",
    "Pattern",
    "PieceClass",
    "Place",
    "SawCut",
    "SawTree",
    "Stock",
    "cut",
    "least_price",
    "pack",
    "sort_pieces",
]  # fmt: skip
