"""Fill the cells that walls and posts cut, in the preferred way or another, and settle what their neighbours fix."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import shapely

from cutopt.geometry import NEAR, NOTHING, polygon, polygons
from cutopt.lay.enclosed import elsewhere
from cutopt.lay.known import Known
from cutopt.lay.pieces import BESIDE_POST, joined, opened, together, worded
from cutopt.lay.plots import Plot, plots_of
from cutopt.lay.records import Cell, Layout, Left, Piece, Shape, Side, Way, corner_of
from cutopt.lay.surveyed import Spot, Surveyed
from cutopt.lay.ways import ways, ways_of
from cutopt.tile import Point


def spot_of(row: int, col: int, origin: Point, area: Surveyed) -> Spot:
    x, y = corner = corner_of(origin, area.pitch, row, col)
    box = shapely.box(x, y, x + area.cell_size[0], y + area.cell_size[1])
    return Spot(row=row, col=col, corner=corner, box=box, quarter_turn=area.turned(row, col), width=area.job.tile.width)


def cut_cell(spot: Spot, drained: bool, area: Surveyed) -> tuple[Cell | None, tuple[Piece, ...]]:
    """A cell that walls or posts cut: its pieces, and what stays open in it."""
    way = next(_cell_ways(spot, area), None)
    if way is None or not (way.pieces or way.left):
        return None, ()
    cell = Cell(
        row=spot.row,
        col=spot.col,
        quarter_turn=spot.quarter_turn,
        kind="cut" if way.pieces else "left",
        left=way.left,
        liftable=drained,
    )
    return cell, way.pieces


def _cell_ways(spot: Spot, area: Surveyed) -> Iterator[Way]:
    """Ways to fill a cell, the preferred one first; none where nothing of it must be covered."""
    plots = plots_of(spot, area)
    crossed = next((kind for kind, line in area.ground.open_lines if _crosses(line, spot.box)), None)
    if crossed is not None:
        why = "only whole tiles lie along this edge" if crossed == "open" else "filled with stone"
        yield _left_open(spot, plots, (f"{crossed}_edge", why), area)
        return
    if plots:
        for way in ways(plots, area):
            yield replace(way, left=worded((*way.left, *_beside_rounds(spot, way, area))))


def _left_open(spot: Spot, plots: Sequence[Plot], reason: tuple[str, str], area: Surveyed) -> Way:
    """No pieces, and all that a cell needs left open for a rule and why."""
    bare = shapely.union_all([*(plot.needed for plot in plots), _round_corners(spot, area)])
    return Way(pieces=(), left=worded(opened(bare, *reason, spot)))


def _beside_rounds(spot: Spot, way: Way, area: Surveyed) -> tuple[Left, ...]:
    """The corners of square notches around round posts that no piece covers."""
    corners = _round_corners(spot, area)
    if corners.is_empty:
        return ()
    return opened(corners.difference(joined(way.pieces, area.strip)), "post_gap", BESIDE_POST, spot)


def _round_corners(spot: Spot, area: Surveyed) -> shapely.Geometry:
    """What is to be covered beside a cell's round posts, but for the square notches around them; its tile frame."""
    ground = area.ground
    if ground.rounds.is_empty or not ground.rounds.intersects(spot.box):
        return NOTHING
    return spot.local(area.round_corners.intersection(spot.box))


def _crosses(line: shapely.LineString, box: shapely.Polygon) -> bool:
    """Whether an edge runs through the inside of a cell, not only along its side."""
    x0, y0, x1, y1 = box.bounds
    return bool(line.intersection(shapely.box(x0 + NEAR, y0 + NEAR, x1 - NEAR, y1 - NEAR)).length > 0)


def cell_ways(layout: Layout, cell: Cell, area: Surveyed) -> Iterable[Way]:
    """All ways to fill a cell that is cut, the preferred one first. Each is worked out when it is asked for, and then
    remembered.
    """
    key = (layout.origin, (cell.row, cell.col))
    found = area.known.get(key)
    if found is None:
        spot = spot_of(cell.row, cell.col, layout.origin, area)
        found = area.known[key] = Known(_cell_ways(spot, area))
    return found


def turned_ways(layout: Layout, cell: Cell, area: Surveyed) -> tuple[Way, ...]:
    """Further ways to fill a cell around its posts: notches turned to other sides, splits where one piece would do."""
    spot = spot_of(cell.row, cell.col, layout.origin, area)
    plots = plots_of(spot, area)
    found: list[Way] = []
    for number, plot in enumerate(plots):
        others = [next(ways([other], area)) for other in (*plots[:number], *plots[number + 1 :])]
        found += [together([way, *others]) for way in elsewhere(plot, area, ways_of)]
    return tuple(replace(way, left=worded((*way.left, *_beside_rounds(spot, way, area)))) for way in found)


def unfilled(layout: Layout, cell: Cell, rule: str, why: str, area: Surveyed) -> Way:
    """A cell left open for a rule."""
    spot = spot_of(cell.row, cell.col, layout.origin, area)
    return _left_open(spot, plots_of(spot, area), (rule, why), area)


def refilled(layout: Layout, filled: Mapping[tuple[int, int], Way], area: Surveyed) -> Layout:
    """The layout with some cells, by row and column, filled another way; their neighbours' sides are set anew."""
    cells = tuple(_filled_by(filled.get((cell.row, cell.col)), cell) for cell in layout.cells)
    stay = [piece for piece in layout.pieces if (piece.row, piece.col) not in filled]
    pieces = [*stay, *(piece for way in filled.values() for piece in way.pieces)]
    pieces.sort(key=lambda piece: (piece.row, piece.col))  # as the cells are
    return refixed(replace(layout, cells=cells, pieces=tuple(pieces)), area)


def _filled_by(way: Way | None, cell: Cell) -> Cell:
    """The cell filled in a way, as it is where that is none."""
    return cell if way is None else replace(cell, kind="cut" if way.pieces else "left", left=way.left)


def emptied(
    layout: Layout, cell: Cell, way: Way, refused: Mapping[Shape, tuple[str, str]], area: Surveyed
) -> Way:  # fmt: skip
    """A way to fill a cell without its refused shapes: their ground stays open, by the rule and for the reason given.

    What was open beside them by a rule of its own belongs to that ground now.
    """
    spot = spot_of(cell.row, cell.col, layout.origin, area)
    stay = tuple(piece for piece in way.pieces if piece.shape not in refused)
    gone = [(polygon(piece.shape.outline), refused[piece.shape]) for piece in way.pieces if piece.shape in refused]
    needed = shapely.union_all([plot.needed for plot in plots_of(spot, area)])
    left: list[Left] = []
    for part in polygons(needed.difference(joined(stay, area.strip))):
        share, (rule, why) = max(((part.intersection(g).area, reason) for g, reason in gone), key=lambda x: x[0])
        left += opened(part, rule, why, spot) if share > NEAR * part.length else ()
    covered = shapely.union_all([polygon(one.outline) for one in left])
    beside = [one for one in way.left if polygon(one.outline).intersection(covered).area < one.area2 / 4]
    return Way(pieces=stay, left=worded([*beside, *left]))


def refixed(layout: Layout, area: Surveyed) -> Layout:
    """The layout with each piece's fixed sides and uncertainty set by the cells that are laid around it."""
    laid = {(cell.row, cell.col) for cell in layout.cells if cell.kind != "left"}
    rows, cols = zip(*laid, strict=True) if laid else ((0,), (0,))
    first = (min(rows), min(cols))
    slack = min((edge.gap[1] - edge.gap[0] for edge in area.site.edges if edge.kind != "open"), default=0)
    pieces = tuple(_finished(piece, laid, first, slack, area) for piece in layout.pieces)
    return replace(layout, pieces=pieces)


def _finished(
    piece: Piece, laid: set[tuple[int, int]], first: tuple[int, int], slack: int, area: Surveyed
) -> Piece:  # fmt: skip
    """The piece with its fixed sides, its uncertainty and whether it is scribed on site.

    `slack`: the least of all walls; a piece that may be off by half of it is scribed.
    """
    turned = area.turned(piece.row, piece.col)
    fixed = frozenset(
        side
        for side, (row, col) in _neighbours(piece.row, piece.col, turned).items()
        if (row, col) in laid and _touches(piece.shape, side, area)
    )
    unsure = _uncertainty(piece, area, first)
    scribe = piece.scribe or unsure > slack / 2
    return replace(piece, fixed=fixed, scribe=scribe, uncertainty=unsure)


def _neighbours(row: int, col: int, turned: bool) -> dict[Side, tuple[int, int]]:
    """The cell beyond each side of the tile. Turned a quarter anticlockwise, u runs up the rows and v against x."""
    if turned:
        return {"u0": (row - 1, col), "u1": (row + 1, col), "v0": (row, col + 1), "v1": (row, col - 1)}
    return {"u0": (row, col - 1), "u1": (row, col + 1), "v0": (row - 1, col), "v1": (row + 1, col)}


def _touches(shape: Shape, side: Side, area: Surveyed) -> bool:
    """Whether the piece has an edge on that side of the tile."""
    axis = 0 if side[0] == "u" else 1
    tile = area.job.tile
    at = 0 if side[1] == "0" else (tile.length, tile.width)[axis]
    ring = shape.outline
    return any(p[axis] == at == q[axis] for p, q in zip(ring, (*ring[1:], *ring[:1]), strict=True))


def _uncertainty(piece: Piece, area: Surveyed, first: tuple[int, int]) -> int:
    """How far a planned cut may be off when the tiles lie: tape over the distance, and the joints up to here, ticks.

    Tape class by the job's rules, a + b L with L rounded up to the metre (Directive 2014/32/EU, Annex X); joints add
    n times the bias and the root of n times the random part, unless the job gives a measured pitch.
    """
    rules, (row0, col0) = area.job.rules, first
    steps = max(piece.row - row0, piece.col - col0) + 1
    metres = math.ceil(steps * max(area.pitch) / 320_000)
    tape = rules.tape_fixed + rules.tape_per_metre * metres
    if area.job.laying.measured_pitch:
        return tape
    return round(steps * rules.joint_bias + math.sqrt(steps * rules.joint_random**2 + tape**2))
