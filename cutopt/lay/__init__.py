"""Outline + tile + pattern → cells and pieces, for a given grid start."""

from cutopt.lay.laying import Surveyed, lay
from cutopt.lay.records import Cell, Layout, Left, Piece, Shape
from cutopt.lay.starts import starts

__all__ = ["Cell", "Layout", "Left", "Piece", "Shape", "Surveyed", "lay", "starts"]
