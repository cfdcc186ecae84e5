"""Outline + tile + pattern → cells and pieces, for a given grid start."""

from cutopt.lay.circles import untangled
from cutopt.lay.filling import cell_ways, emptied, refilled, refixed
from cutopt.lay.laying import lay
from cutopt.lay.records import Cell, Layout, Left, Piece, Shape, Way
from cutopt.lay.starts import plain_starts, starts
from cutopt.lay.surveyed import Surveyed

__all__ = [
    "Cell",
    "Layout",
    "Left",
    "Piece",
    "Shape",
    "Surveyed",
    "Way",
    "cell_ways",
    "emptied",
    "lay",
    "plain_starts",
    "refilled",
    "refixed",
    "starts",
    "untangled",
]
