"""What laying gives: cells of the grid and the pieces that fill those where no whole tile fits.

side        u0, u1, v0 or v1: the tile's side at u = 0, u = length, v = 0, v = width
chord       a straight through-cut of a tile, from mark to mark on its sides, the kept wood on its left
notch       a cut around something, its path along the piece's own edge, the kept wood on its left
way         another set of pieces for a cell, tried where the carpentry refuses those before it
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutopt.geometry import Ring
from cutopt.tile import Point

Side = Literal["u0", "u1", "v0", "v1"]
BARE = ("open_edge", "dropped_gap", "post_gap")  # rules by which ground stays bare beside wood that is laid
Chord = tuple[Point, Point]


@dataclass(frozen=True, kw_only=True, slots=True)
class Notch:
    """A cut around something: its `path` along the piece's own edge, the kept wood on its left.

    `closed`: a ring all round a post that the piece is lifted over; it runs clockwise, first point not repeated.
    `centre` and `radius` of the arc where it is cut round: its path is then a polyline just outside that arc.
    """

    path: Ring
    closed: bool = False
    centre: Point | None = None
    radius: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Shape:
    """A piece as it is sawn, in the tile frame of its own cell, ticks. `outline` is its outer ring."""

    outline: Ring
    chords: tuple[Chord, ...]
    notches: tuple[Notch, ...]

    @property
    def holes(self) -> tuple[Ring, ...]:
        """Rings cut out of its inside, clockwise."""
        return tuple(notch.path for notch in self.notches if notch.closed)


@dataclass(frozen=True, kw_only=True, slots=True)
class Piece:
    """What fills a cell or a part of one. Pieces of equal shape and fixed sides are interchangeable."""

    area: int
    row: int
    col: int
    shape: Shape
    fixed: frozenset[Side]
    scribe: bool
    uncertainty: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Left:
    """A part of a cell that stays open: its ring in the layout frame, the rule behind it, and that in words.

    `area2` is twice its area in square ticks, less what stands in it.
    """

    outline: Ring
    rule: str
    why: str
    area2: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """A place in the grid for one tile."""

    row: int
    col: int
    quarter_turn: bool
    kind: Literal["whole", "cut", "left"]
    left: tuple[Left, ...]
    liftable: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Way:
    """A way to fill a cell, or a connected part of one: its pieces, and what stays open."""

    pieces: tuple[Piece, ...]
    left: tuple[Left, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Layout:
    """One area at one grid start. `origin` is the corner of cell (0, 0), `pitch` the grid's, in the layout frame."""

    area: int
    origin: Point
    pitch: Point
    cells: tuple[Cell, ...]
    pieces: tuple[Piece, ...]

    @property
    def whole(self) -> int:
        """How many cells take a whole tile."""
        return sum(cell.kind == "whole" for cell in self.cells)

    @property
    def by_cell(self) -> dict[tuple[int, int], tuple[Piece, ...]]:
        """The pieces of each cell that has some, by its row and column."""
        found: dict[tuple[int, int], tuple[Piece, ...]] = {}
        for piece in self.pieces:
            at = (piece.row, piece.col)
            found[at] = (*found.get(at, ()), piece)
        return found

    @property
    def open_count(self) -> int:
        """How many parts of cells stay open though a tile could have been wished for there."""
        return sum(left.rule not in (*BARE, "stone_edge") for cell in self.cells for left in cell.left)


def corner_of(origin: Point, pitch: Point, row: int, col: int) -> Point:
    """The corner of a cell in the layout frame."""
    return origin[0] + col * pitch[0], origin[1] + row * pitch[1]


def to_layout(point: Point, corner: Point, quarter_turn: bool, width: int) -> Point:
    """A point of a cell's tile frame in the layout frame; `width` is the tile's."""
    if quarter_turn:
        return corner[0] + width - point[1], corner[1] + point[0]
    return corner[0] + point[0], corner[1] + point[1]


def to_tile(point: tuple[float, float], corner: Point, quarter_turn: bool, width: int) -> tuple[float, float]:
    """A point of the layout frame in a cell's tile frame."""
    x, y = point[0] - corner[0], point[1] - corner[1]
    return (y, width - x) if quarter_turn else (x, y)
