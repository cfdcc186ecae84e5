"""Where the plan's parts lie: pieces on their sources and in their areas, and a tile face up or face down.

Face down: the tile is turned over sideways, like the page of a book, about an axis along v. Left and right change
places (u runs to the left), near and far do not (v still runs away from you). The home corner, lower left with the face
up, lies lower right. Points are mirrored, texts are written afterwards and never are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from cutopt.book.drawings.drawing import Box, Point
from cutopt.planfile.model import Area, Cell, Hardware, Piece, Placement, Plan, Source, TileScrew

Face = Literal["up", "down"]


@dataclass(frozen=True, kw_only=True, slots=True)
class View:
    """How a tile lies on the bench; the drawing keeps the tile's millimetres."""

    face: Face
    length: float

    def at(self, point: Point) -> Point:
        """A point of the tile frame on the drawing."""
        return (self.length - point[0], point[1]) if self.face == "down" else point

    def ring(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Points of the tile frame on the drawing, in their order."""
        return tuple(self.at(point) for point in points)

    def box(self, box: Box) -> Box:
        """A box of the tile frame on the drawing."""
        if self.face == "up":
            return box
        return (self.length - box[2], box[1], self.length - box[0], box[3])


def hardware_of(plan: Plan, source: Source) -> Hardware:
    """The slats, backers, screws and holes of the source before any work."""
    if source.from_.startswith("stock:"):
        for stock in plan.stock:
            if stock.id == source.from_.removeprefix("stock:"):
                return stock
    return plan.tile


def on_source(plan: Plan, piece: Piece, placement: Placement) -> tuple[Point, ...]:
    """The piece's outline in its source's tile frame."""
    return _landed(plan, piece.outline, placement)


def holes_on_source(plan: Plan, piece: Piece, placement: Placement) -> tuple[tuple[Point, ...], ...]:
    """The rings that are cut out of the piece, in its source's tile frame."""
    return tuple(_landed(plan, hole, placement) for hole in piece.holes)


def _landed(plan: Plan, points: Iterable[Point], placement: Placement) -> tuple[Point, ...]:
    du, dv = placement.shift
    if placement.half_turn:
        return tuple((du + plan.tile.length - u, dv + plan.tile.width - v) for u, v in points)
    return tuple((du + u, dv + v) for u, v in points)


def in_area(plan: Plan, area: Area, cell: Cell, points: Sequence[Point]) -> tuple[Point, ...]:
    """Points of the cell's tile frame in the area's layout frame."""
    x = area.grid.origin[0] + cell.col * area.grid.pitch[0]
    y = area.grid.origin[1] + cell.row * area.grid.pitch[1]
    if cell.quarter_turn:
        return tuple((x + plan.tile.width - v, y + u) for u, v in points)
    return tuple((x + u, y + v) for u, v in points)


def screws_taken_out(plan: Plan, source: Source) -> tuple[TileScrew, ...]:
    """The source's own screws that come out, before the first cut or in any later step."""
    names = set(source.screws_out)
    for step in plan.steps:
        if step.source == source.id and step.do == "unscrew":
            names.update(step.screws)
    return tuple(screw for screw in hardware_of(plan, source).screws if screw.id in names)


def emptied(plan: Plan, source: Source) -> dict[int, int]:
    """The source's own backers that lose all their screws, and how many these are."""
    own = Counter(screw.backer for screw in hardware_of(plan, source).screws)
    out = Counter(screw.backer for screw in screws_taken_out(plan, source))
    return {backer: count for backer, count in out.items() if count == own[backer]}
