"""Pieces + fits → sources with placements, the order of their saw cuts, and a proven bound on their number."""

from cutopt.cut.cutting import Stock, cut, sort_pieces
from cutopt.cut.records import CutPlan, CutTile, Pattern, PieceClass, Place, SawCut, SawTree

__all__ = [
    "CutPlan", "CutTile", "Pattern", "PieceClass", "Place", "SawCut", "SawTree", "Stock", "cut", "sort_pieces",
]  # fmt: skip
