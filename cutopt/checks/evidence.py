"""What the checks derive from a plan file once: placed pieces, their boards, and the tile's own measures.

Nothing here reports; what is broken beyond use (an unknown id, a ring without area) is left out, and `names.py` or
`rings.py` says so.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from shapely.geometry import Polygon

from cutopt.checks.limits import Limits, read_limits
from cutopt.checks.shapes import (
    TOLERANCE,
    Move,
    Spot,
    angle_from_slats,
    polygon,
    polygons,
    rectangle,
    ring_edges,
    same,
)
from cutopt.planfile import Plan
from cutopt.planfile.model import Area, Backer, Cell, Hardware, Piece, Source, TileBacker

MM_PER_INCH = 25.4
TRUE_TO = 1.0  # mm: how far an anatomy may be from its own half turn and count as symmetric


@dataclass(frozen=True, kw_only=True, slots=True)
class Measures:
    """What the uncut tile has, in millimetres: the authority for pieces cut from it."""

    length: float
    width: float
    joint: Spot  # between neighbours along u and across v, set by the support's pins
    screw_diameter: float
    screw_to_edge: float  # least in the uncut tile: screw to its slat's long edge
    screw_to_end: float  # screw to its slat's end
    screw_to_backer_edge: float
    screw_to_backer_end: float
    hole_diameter: float
    hole_slack: float  # how far a pin may stand from its hole's centre
    hole_rim: float  # least wood around a hole in the uncut tile
    longest_bay: float
    overhang: float  # longest slat end past the outer backer's edge
    slats_symmetric: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Board:
    """A fragment of a slat in a placed piece, in the source's frame."""

    slat: int
    outline: Polygon

    @property
    def u(self) -> Spot:
        """Its extent along the slats."""
        return (self.outline.bounds[0], self.outline.bounds[2])


@dataclass(frozen=True, kw_only=True, slots=True)
class Placed:
    """A piece on its source. Shapes are in the source's tile frame; `to_layout` maps that frame into the area."""

    piece: Piece
    source: Source
    hardware: Hardware
    area: Area
    cell: Cell
    half_turn: bool
    outline: Polygon
    to_source: Move
    to_layout: Move
    derived: tuple[Board, ...]
    boards: tuple[Board, ...]  # as derived, but for slats that the plan re-rips

    @property
    def where(self) -> str:
        """For a finding."""
        return f"piece {self.piece.id} on {self.source.id}"

    def backers(self) -> list[Backer]:
        """The backers that the source lists for this piece."""
        return [backer for backer in self.source.backers if backer.piece == self.piece.id]


@dataclass(frozen=True, kw_only=True, slots=True)
class Evidence:
    """A plan and what was derived from it."""

    plan: Plan
    limits: Limits
    tile: Measures
    rectangle: Polygon
    placed: tuple[Placed, ...]

    def on(self, source: Source) -> list[Placed]:
        """The placed pieces of a source."""
        return [placed for placed in self.placed if placed.source is source]


def gather(plan: Plan) -> Evidence:
    """Derive all of it."""
    tile = _measures(plan)
    return Evidence(
        plan=plan,
        limits=read_limits(plan),
        tile=tile,
        rectangle=rectangle(tile.length, tile.width),
        placed=tuple(_placed(plan)),
    )


def hardware_of(plan: Plan, source: Source) -> Hardware | None:
    """A source's slats, backers, screws and holes: the tile's, or those of the racked offcut it names."""
    if source.from_ == "new":
        return plan.tile
    return next((stock for stock in plan.stock if source.from_ == f"stock:{stock.id}"), None)


def tile_backer(hardware: Hardware, number: int) -> TileBacker | None:
    """The backer of that number."""
    return next((backer for backer in hardware.backers if backer.id == number), None)


def cell_to_layout(plan: Plan, area: Area, cell: Cell) -> Move:
    """From the tile frame of a cell into the layout frame."""
    x = area.grid.origin[0] + cell.col * area.grid.pitch[0]
    y = area.grid.origin[1] + cell.row * area.grid.pitch[1]
    if cell.quarter_turn:
        return Move(a=0.0, b=-1.0, c=1.0, d=0.0, x0=x + plan.tile.width, y0=y)
    return Move(a=1.0, b=0.0, c=0.0, d=1.0, x0=x, y0=y)


def piece_to_source(plan: Plan, half_turn: bool, shift: Spot) -> Move:
    """From a piece's own frame into its source's."""
    if half_turn:
        return Move(a=-1.0, b=0.0, c=0.0, d=-1.0, x0=shift[0] + plan.tile.length, y0=shift[1] + plan.tile.width)
    return Move(a=1.0, b=0.0, c=0.0, d=1.0, x0=shift[0], y0=shift[1])


def factory(tile: Measures, start: Spot, end: Spot) -> bool:
    """Whether an edge in a source's frame lies on one of the tile's own four sides."""
    sides = ((0, 0.0), (0, tile.length), (1, 0.0), (1, tile.width))
    return any(abs(start[axis] - at) <= TOLERANCE and abs(end[axis] - at) <= TOLERANCE for axis, at in sides)


def sawn_edges(tile: Measures, shape: Polygon) -> list[tuple[Spot, Spot]]:
    """The edges of a placed shape that are not the tile's own sides."""
    return [edge for edge in ring_edges(shape) if not factory(tile, *edge)]


def is_end(edge: tuple[Spot, Spot], limits: Limits) -> bool:
    """Whether a slat's edge shows end grain."""
    return angle_from_slats(*edge) > limits.end_grain_angle


def _placed(plan: Plan) -> list[Placed]:
    pieces = {piece.id: piece for piece in plan.pieces}
    areas = {area.name: area for area in plan.areas}
    found: list[Placed] = []
    for source in plan.sources:
        hardware = hardware_of(plan, source)
        for placement in source.placements:
            piece = pieces.get(placement.piece)
            area = areas.get(piece.area) if piece else None
            cell = _cell(area, piece) if area and piece else None
            if piece is None or area is None or cell is None or hardware is None:
                continue
            move = piece_to_source(plan, placement.half_turn, placement.shift)
            outline = move.region(polygon(piece.outline, piece.holes))
            if outline.is_empty:
                continue
            derived = tuple(_boards(hardware, outline, plan.tile.length))
            found.append(
                Placed(
                    piece=piece,
                    source=source,
                    hardware=hardware,
                    area=area,
                    cell=cell,
                    half_turn=placement.half_turn,
                    outline=outline,
                    to_source=move,
                    to_layout=move.back().then(cell_to_layout(plan, area, cell)),
                    derived=derived,
                    boards=_as_shared(source, piece, derived),
                )
            )
    return found


def _cell(area: Area, piece: Piece) -> Cell | None:
    return next((cell for cell in area.cells if (cell.row, cell.col) == (piece.row, piece.col)), None)


def _boards(hardware: Hardware, outline: Polygon, length: float) -> list[Board]:
    found: list[Board] = []
    for slat in hardware.slats:
        strip = polygon(((0.0, slat.v[0]), (length, slat.v[0]), (length, slat.v[1]), (0.0, slat.v[1])))
        found.extend(Board(slat=slat.id, outline=part) for part in polygons(outline.intersection(strip)))
    return found


def _as_shared(source: Source, piece: Piece, derived: tuple[Board, ...]) -> tuple[Board, ...]:
    """The boards with those of re-ripped slats as the plan states them."""
    stated = [f for f in source.slats if f.piece == piece.id and f.state == "shared"]
    shared = {fragment.slat for fragment in stated}
    kept = [board for board in derived if board.slat not in shared]
    again = [Board(slat=f.slat, outline=polygon(f.outline)) for f in stated]
    return (*kept, *(board for board in again if not board.outline.is_empty))


def _measures(plan: Plan) -> Measures:
    tile = plan.tile
    slats = {slat.id: slat.v for slat in tile.slats}
    backers = {backer.id: backer for backer in tile.backers}
    screws = [s for s in tile.screws if s.slat in slats and s.backer in backers]
    backs = [(s, backers[s.backer]) for s in screws]
    us = sorted(backer.u for backer in tile.backers)
    diameter = min((hole.diameter for hole in tile.pin_holes), default=0.0)
    rims = [_rim(backers[h.backer], (h.u, h.v)) - h.diameter / 2 for h in tile.pin_holes if h.backer in backers]
    starts = [b.u - b.width / 2 for b in tile.backers]
    ends = [tile.length - b.u - b.width / 2 for b in tile.backers]
    return Measures(
        length=tile.length,
        width=tile.width,
        joint=_joints(plan),
        screw_diameter=(0.060 + 0.013 * tile.gauge) * MM_PER_INCH,
        screw_to_edge=_least([min(s.v - slats[s.slat][0], slats[s.slat][1] - s.v) for s in screws]),
        screw_to_end=_least([min(s.u, tile.length - s.u) for s in screws]),
        screw_to_backer_edge=_least([b.width / 2 - abs(s.u - b.u) for s, b in backs]),
        screw_to_backer_end=_least([min(s.v - b.v[0], b.v[1] - s.v) for s, b in backs]),
        hole_diameter=max((hole.diameter for hole in tile.pin_holes), default=0.0),
        hole_slack=max(0.0, (diameter - tile.support.pin) / 2),
        hole_rim=_least(rims),
        longest_bay=max((b - a for a, b in itertools.pairwise(us)), default=0.0),
        overhang=max(min(starts, default=0.0), min(ends, default=0.0)),
        slats_symmetric=_symmetric(plan),
    )


def _least(values: list[float]) -> float:
    return min(values, default=float("inf"))


def _rim(backer: TileBacker, spot: Spot) -> float:
    """From a point in a backer to its nearest edge."""
    return min(backer.width / 2 - abs(spot[0] - backer.u), spot[1] - backer.v[0], backer.v[1] - spot[1])


def _joints(plan: Plan) -> Spot:
    """2 x (pin offset - hole inset), along and across; the insets are those nearest the home corner."""
    holes, offset = plan.tile.pin_holes, plan.tile.support.pin_offset
    if not holes:
        return (0.0, 0.0)
    return (2 * (offset - min(hole.u for hole in holes)), 2 * (offset - min(hole.v for hole in holes)))


def _symmetric(plan: Plan) -> bool:
    turned = sorted((plan.tile.width - s.v[1], plan.tile.width - s.v[0]) for s in plan.tile.slats)
    lying = sorted(s.v for s in plan.tile.slats)
    return all(
        abs(a - b) <= TRUE_TO for one, other in zip(turned, lying, strict=True) for a, b in zip(one, other, strict=True)
    )


def same_spot(one: Spot, other: Spot) -> bool:
    """Whether two stated points are the same to the tick."""
    return same(one[0], other[0]) and same(one[1], other[1])
