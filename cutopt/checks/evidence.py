"""What the checks derive from a plan file once: placed pieces, their boards, and the tile's own measures.

Nothing here reports; what is broken beyond use (an unknown id, a ring without area) is left out, and `names.py` or
`rings.py` says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shapely import contains_xy
from shapely.geometry import Polygon

from cutopt.checks.limits import Limits, read_limits
from cutopt.checks.measures import Measures, measures_of
from cutopt.checks.replay import Replay, replay
from cutopt.checks.shapes import (
    TOLERANCE,
    Move,
    Spot,
    angle_from_slats,
    common,
    polygon,
    polygons,
    rectangle,
    ring_edges,
    same,
)
from cutopt.lengths import ticks
from cutopt.planfile import Plan
from cutopt.planfile.model import (
    Area,
    Backer,
    Cell,
    Fragment,
    Hardware,
    Piece,
    Screw,
    Source,
    Step,
    TileBacker,
    TileHole,
    TileScrew,
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Board:
    """A fragment of a slat in a placed piece, in the source's frame, with the listed screws that sit in it."""

    slat: int
    outline: Polygon
    screws: tuple[Screw, ...] = ()

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
    shared: tuple[Fragment, ...]  # of slats that the plan re-rips, as stated
    boards: tuple[Board, ...]  # as derived, but for those slats
    screws: tuple[Screw, ...]  # all that the source lists for this piece
    backers: tuple[Backer, ...]  # those that the source lists for this piece
    own_screws: Mapping[tuple[int, int], TileScrew]  # the source's screws as made, by where they are: see `at_spot`

    @property
    def where(self) -> str:
        """For a finding."""
        return f"piece {self.piece.id} on {self.source.id}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Stick:
    """The backer of a source that another is made of, with all that was in it."""

    source: Source
    backer: TileBacker
    screws: tuple[TileScrew, ...]
    holes: tuple[TileHole, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Evidence:
    """A plan and what was derived from it. `sticks`: by source and the backer's number; `steps_of`: by source."""

    plan: Plan
    limits: Limits
    tile: Measures
    rectangle: Polygon
    placed: tuple[Placed, ...]
    worked: tuple[Replay, ...]  # the cuts of each source
    sticks: Mapping[tuple[str, int], Stick]
    steps_of: Mapping[str, tuple[Step, ...]]

    def on(self, source: Source) -> list[Placed]:
        """The placed pieces of a source."""
        return [placed for placed in self.placed if placed.source is source]

    def steps(self, source: Source) -> tuple[Step, ...]:
        """The steps of a source in the order of their numbers."""
        return self.steps_of.get(source.id, ())


def gather(plan: Plan) -> Evidence:
    """Derive all of it."""
    tile = measures_of(plan)
    return Evidence(
        plan=plan,
        limits=read_limits(plan),
        tile=tile,
        rectangle=rectangle(tile.length, tile.width),
        placed=tuple(_placed(plan)),
        worked=tuple(replay(source) for source in plan.sources),
        sticks={(stick.source.id, stick.backer.id): stick for stick in _sticks(plan)},
        steps_of=_by_source(plan),
    )


def _by_source(plan: Plan) -> dict[str, tuple[Step, ...]]:
    found: dict[str, list[Step]] = {}
    for step in sorted(plan.steps, key=lambda step: step.n):
        found.setdefault(step.source, []).append(step)
    return {source: tuple(steps) for source, steps in found.items()}


def _sticks(plan: Plan) -> list[Stick]:
    return [
        Stick(
            source=source,
            backer=backer,
            screws=tuple(screw for screw in hardware.screws if screw.backer == backer.id),
            holes=tuple(hole for hole in hardware.pin_holes if hole.backer == backer.id),
        )
        for source in plan.sources
        if (hardware := hardware_of(plan, source)) is not None
        for backer in hardware.backers
    ]


def at_spot(screws: tuple[TileScrew, ...]) -> dict[tuple[int, int], TileScrew]:
    """Screws by every place, in ticks, that counts as theirs: a stated length may be a tick off (`shapes.same`)."""
    around = [(du, dv) for du in (-1, 0, 1) for dv in (-1, 0, 1)]
    return {(ticks(s.u) + du, ticks(s.v) + dv): s for du, dv in around for s in screws}


def own_screw(placed: Placed, spot: Spot) -> TileScrew | None:
    """The source's screw, as made, at a point."""
    return placed.own_screws.get((ticks(spot[0]), ticks(spot[1])))


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
    cells = {(area.name, cell.row, cell.col): (area, cell) for area in plan.areas for cell in area.cells}
    made: dict[int, dict[tuple[int, int], TileScrew]] = {}
    found: list[Placed] = []
    for source in plan.sources:
        hardware = hardware_of(plan, source)
        for placement in source.placements:
            piece = pieces.get(placement.piece)
            where = cells.get((piece.area, piece.row, piece.col)) if piece else None
            if piece is None or where is None or hardware is None:
                continue
            move = piece_to_source(plan, placement.half_turn, placement.shift)
            outline = move.region(polygon(piece.outline, piece.holes))
            if outline.is_empty:
                continue
            screws = tuple(screw for screw in source.screws if screw.piece == piece.id)
            shared = tuple(f for f in source.slats if f.piece == piece.id and f.state == "shared")
            derived = tuple(_boards(hardware, outline, plan.tile.length))
            if id(hardware) not in made:
                made[id(hardware)] = at_spot(hardware.screws)
            found.append(
                Placed(
                    piece=piece,
                    source=source,
                    hardware=hardware,
                    area=where[0],
                    cell=where[1],
                    half_turn=placement.half_turn,
                    outline=outline,
                    to_source=move,
                    to_layout=move.back().then(cell_to_layout(plan, *where)),
                    derived=derived,
                    shared=shared,
                    boards=tuple(_screwed(board, screws) for board in _as_shared(shared, derived)),
                    screws=screws,
                    backers=tuple(backer for backer in source.backers if backer.piece == piece.id),
                    own_screws=made[id(hardware)],
                )
            )
    return found


def _screwed(board: Board, screws: tuple[Screw, ...]) -> Board:
    """A board with the listed screws that sit in it."""
    mine = [screw for screw in screws if screw.slat == board.slat]
    if not mine:
        return board
    within = contains_xy(board.outline.buffer(TOLERANCE), [(screw.u, screw.v) for screw in mine])
    held = tuple(screw for screw, lies in zip(mine, within, strict=True) if lies)
    return Board(slat=board.slat, outline=board.outline, screws=held)


def _boards(hardware: Hardware, outline: Polygon, length: float) -> list[Board]:
    found: list[Board] = []
    for slat in hardware.slats:
        strip = polygon(((0.0, slat.v[0]), (length, slat.v[0]), (length, slat.v[1]), (0.0, slat.v[1])))
        found.extend(Board(slat=slat.id, outline=part) for part in polygons(common(outline, strip)))
    return found


def _as_shared(shared: tuple[Fragment, ...], derived: tuple[Board, ...]) -> tuple[Board, ...]:
    """The boards with those of re-ripped slats as the plan states them."""
    slats = {fragment.slat for fragment in shared}
    kept = [board for board in derived if board.slat not in slats]
    again = [Board(slat=f.slat, outline=polygon(f.outline)) for f in shared]
    return (*kept, *(board for board in again if not board.outline.is_empty))


def same_spot(one: Spot, other: Spot) -> bool:
    """Whether two stated points are the same to the tick."""
    return same(one[0], other[0]) and same(one[1], other[1])
