"""Lay the grid over the ground: which cells take a whole tile, which are cut, which stay open."""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from cutopt.geometry import NEAR, Rail, extent, polygons, ring_of
from cutopt.job.records import Job
from cutopt.lay.ground import Ground, ground_of
from cutopt.lay.marking import shape_in
from cutopt.lay.marks import Bench, Unmarked
from cutopt.lay.records import Cell, Layout, Left, Piece, Shape, Side, corner_of, to_tile
from cutopt.site import Site
from cutopt.tile import Point


@dataclass(frozen=True, kw_only=True)
class Surveyed:
    """A site with its ground and the job's laying rules: all that grid starts of one area share."""

    index: int
    site: Site
    job: Job

    @cached_property
    def ground(self) -> Ground:
        """Where wood may and must lie."""
        return ground_of(self.site)

    @cached_property
    def bench(self) -> Bench:
        """How pieces are marked."""
        return Bench(tile=self.job.tile, mark=self.job.mark, rules=self.job.rules)

    @property
    def all_turned(self) -> bool:
        """Whether the slats of the first tile run across the start wall."""
        return self.job.laying.slats == "across"

    @property
    def cell_size(self) -> Point:
        """A cell's tile along x and y. A turned rectangular tile turns the grid with it."""
        tile = self.job.tile
        return (tile.width, tile.length) if self.all_turned else (tile.length, tile.width)

    @property
    def pitch(self) -> Point:
        """The grid's pitch along x and y."""
        pitch = self.job.laying.pitch
        return (pitch[1], pitch[0]) if self.all_turned else pitch

    def turned(self, row: int, col: int) -> bool:
        """Whether the pattern turns this cell by a quarter."""
        pattern = self.job.laying.pattern
        odd = (pattern == "alternate" and (row + col) % 2 == 1) or (pattern == "two-and-one" and (row + col) % 3 == 2)
        return odd != self.all_turned


@dataclass(frozen=True, kw_only=True, slots=True)
class _Place:
    """A cell before it is filled: its corner, rectangle and whether it is turned."""

    row: int
    col: int
    corner: Point
    box: shapely.Polygon
    quarter_turn: bool


def lay(area: Surveyed, origin: Point) -> Layout:
    """Lay one area on the grid through `origin`, ticks of its layout frame. Cells without free ground are dropped.

    Rows and columns are counted from the first that meets the area, so that the pattern starts there.
    """
    if area.ground.needed.is_empty:
        return Layout(area=area.index, origin=origin, pitch=area.pitch, cells=(), pieces=())
    origin = (_first(area, origin, 0), _first(area, origin, 1))
    places = _places(area, origin)
    shapely.prepare(area.ground.allowed)
    inside = shapely.contains_properly(area.ground.allowed.buffer(1), [place.box for place in places])
    cells: list[Cell] = []
    pieces: list[Piece] = []
    for place, whole in zip(places, inside.tolist(), strict=True):
        cell, found = (_whole(place, area), []) if whole else _cut_cell(place, area)
        if cell is not None:
            cells.append(cell)
            pieces.extend(found)
    layout = Layout(area=area.index, origin=origin, pitch=area.pitch, cells=tuple(cells), pieces=tuple(pieces))
    return refixed(layout, area)


def _first(area: Surveyed, origin: Point, axis: int) -> int:
    """The corner of the first cell along an axis whose tile meets the area."""
    low, pitch = float(area.ground.needed.bounds[axis]), area.pitch[axis]
    first = origin[axis] + math.floor((low - origin[axis]) / pitch) * pitch
    return first + pitch if low - first >= area.cell_size[axis] else first


def refixed(layout: Layout, area: Surveyed) -> Layout:
    """The layout with each piece's fixed sides and uncertainty set by the cells that are laid around it."""
    laid = {(cell.row, cell.col) for cell in layout.cells if cell.kind != "left"}
    first = (min((row for row, _ in laid), default=0), min((col for _, col in laid), default=0))
    pieces = tuple(_finished(piece, laid, area, first) for piece in layout.pieces)
    return replace(layout, pieces=pieces)


def _places(area: Surveyed, origin: Point) -> list[_Place]:
    """The cells whose rectangle meets the ground, row by row."""
    (px, py), (sx, sy) = area.pitch, area.cell_size
    x0, y0, x1, y1 = area.ground.outline.bounds
    cols = range(math.floor((x0 - origin[0]) / px), math.ceil((x1 - origin[0]) / px) + 1)
    rows = range(math.floor((y0 - origin[1]) / py), math.ceil((y1 - origin[1]) / py) + 1)
    index = [(row, col) for row in rows for col in cols]
    corners = np.array([corner_of(origin, area.pitch, row, col) for row, col in index], dtype=float)
    boxes = shapely.box(corners[:, 0], corners[:, 1], corners[:, 0] + sx, corners[:, 1] + sy)
    shapely.prepare(area.ground.outline)
    meets = shapely.intersects(area.ground.outline, boxes)
    return [
        _Place(row=r, col=c, corner=corner_of(origin, area.pitch, r, c), box=box, quarter_turn=area.turned(r, c))
        for (r, c), box, met in zip(index, boxes, meets.tolist(), strict=True)
        if met
    ]


def _whole(place: _Place, area: Surveyed) -> Cell:
    liftable = bool(place.box.intersects(area.ground.drains))
    return Cell(row=place.row, col=place.col, quarter_turn=place.quarter_turn, kind="whole", left=(), liftable=liftable)


def _cut_cell(place: _Place, area: Surveyed) -> tuple[Cell | None, list[Piece]]:
    """A cell that walls or posts cut: its pieces, and what stays open in it."""
    ground = area.ground
    regions = polygons(_shorn(ground.allowed.intersection(place.box)))
    needed = ground.needed.intersection(place.box)
    crossed = next((kind for kind, line in ground.open_lines if _crosses(line, place.box)), None)
    left: list[Left] = []
    pieces: list[Piece] = []
    for region in regions:
        must = needed.intersection(region.buffer(NEAR))
        if not polygons(must):
            continue
        if crossed is not None:
            rule = f"{crossed}_edge"
            left += _open(
                must, rule, "only whole tiles lie along this edge" if crossed == "open" else "filled with stone"
            )
            continue
        found, dropped = _with_slivers_dropped(place, region, needed, area)
        pieces += found
        left += dropped
    if not pieces and not left:
        return None, []
    cell = Cell(
        row=place.row,
        col=place.col,
        quarter_turn=place.quarter_turn,
        kind="cut" if pieces else "left",
        left=tuple(left),
        liftable=bool(place.box.intersects(ground.drains)),
    )
    return cell, pieces


def _with_slivers_dropped(
    place: _Place, region: shapely.Polygon, needed: shapely.Geometry, area: Surveyed
) -> tuple[list[Piece], list[Left]]:
    """The piece of a region; arms of it too narrow to hold a screw are dropped where that leaves a piece to be made."""
    least = area.job.rules.fragment_least
    stout = region.buffer(-least / 2, join_style="mitre").buffer(least / 2 + 1, join_style="mitre", mitre_limit=10)
    slivers = polygons(region.difference(stout))
    rests = polygons(region.difference(shapely.union_all(slivers))) if slivers else []
    if len(rests) == 1:
        with suppress(Unmarked):
            piece = _piece(place, rests[0], needed.intersection(rests[0].buffer(NEAR)), area)
            why = f"narrower than {least / 320:g} mm, too narrow to hold a screw"
            return [piece], _open(needed.intersection(shapely.union_all(slivers)), "fragment_least", why)
    must = needed.intersection(region.buffer(NEAR))
    try:
        return [_piece(place, region, must, area)], []
    except Unmarked as refusal:
        return [], _open(must, refusal.rule, str(refusal))


def _shorn(shape: shapely.Geometry) -> shapely.Geometry:
    """The region without hairs of rounding: spikes no wider than two ticks go, all other corners stay."""
    return shape.buffer(-1, join_style="mitre", mitre_limit=50).buffer(1, join_style="mitre", mitre_limit=50)


def _crosses(line: shapely.LineString, box: shapely.Polygon) -> bool:
    """Whether an edge runs through the inside of a cell, not only along its side."""
    return bool(line.intersection(box.buffer(-NEAR)).length > 0)


def _open(region: shapely.Geometry, rule: str, why: str) -> list[Left]:
    parts = polygons(_shorn(region))
    return [Left(outline=ring_of(part), rule=rule, why=why, area2=round(2 * part.area)) for part in parts]


def _piece(place: _Place, region: shapely.Polygon, needed: shapely.Geometry, area: Surveyed) -> Piece:
    """Mark out one region of a cell. Raises `Unmarked`."""
    width = area.job.tile.width
    if area.ground.round_posts.intersects(region.buffer(NEAR)):
        raise Unmarked("not_yet_planned", "a round post stands here")

    def seen(points: np.ndarray) -> np.ndarray:
        return np.array([to_tile((x, y), place.corner, place.quarter_turn, width) for x, y in points])

    local = shapely.transform(region, seen)
    rails = tuple(_seen_rail(rail, place, width) for rail in area.ground.rails if _near(rail, place, area))
    shape = _stout_shape(local, shapely.transform(needed, seen), rails, area)
    gap = max((post.gap[0] for post in area.site.posts if post.kind == "post"), default=0)
    return Piece(
        area=area.index,
        row=place.row,
        col=place.col,
        shape=shape,
        fixed=frozenset(),
        scribe=bool(region.distance(area.ground.posts) <= gap + NEAR),  # rows move a little until a post's tiles lie
        uncertainty=0,
    )


def _near(rail: Rail, place: _Place, area: Surveyed) -> bool:
    """Whether the rail's line passes through or close by the cell."""
    reach = sum(area.cell_size)
    middle = (place.corner[0] + area.cell_size[0] / 2, place.corner[1] + area.cell_size[1] / 2)
    return abs(rail.distance(middle)) < reach


def _seen_rail(rail: Rail, place: _Place, width: int) -> Rail:
    a, b = (to_tile(p, place.corner, place.quarter_turn, width) for p in (rail.a, rail.b))
    return Rail(a=a, b=b, slack=rail.slack)


def _stout_shape(region: shapely.Polygon, needed: shapely.Geometry, rails: tuple[Rail, ...], area: Surveyed) -> Shape:
    """The marked shape; where it is a sliver, as wide as the least gap lets it be. Raises `Unmarked`."""
    shape = shape_in(region, needed, rails, area.bench)
    with suppress(Unmarked):
        _stout(shape, area)
        return shape
    shape = shape_in(region, needed, rails, replace(area.bench, widest=True))
    _stout(shape, area)
    return shape


def _stout(shape: Shape, area: Surveyed) -> None:
    """Refuse a sliver: `Unmarked` with the rule of the thinnest strip."""
    rules = area.job.rules
    u0, v0, u1, v1 = extent(shape.outline)
    if v1 - v0 < rules.thinnest_strip:
        raise Unmarked("thinnest_strip", f"only {(v1 - v0) / 320:.0f} mm wide across the slats")
    if u1 - u0 < rules.thinnest_across:
        raise Unmarked(
            "thinnest_across", f"only {(u1 - u0) / 320:.0f} mm long along the slats, too short for two backers"
        )


def _finished(piece: Piece, laid: set[tuple[int, int]], area: Surveyed, first: tuple[int, int]) -> Piece:
    """The piece with its fixed sides, its uncertainty and whether it is scribed on site."""
    turned = area.turned(piece.row, piece.col)
    fixed = frozenset(
        side
        for side, (row, col) in _neighbours(piece.row, piece.col, turned).items()
        if (row, col) in laid and _touches(piece.shape, side, area)
    )
    unsure = _uncertainty(piece, area, first)
    slack = min((edge.gap[1] - edge.gap[0] for edge in area.site.edges if edge.kind != "open"), default=0)
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
