"""Each cell's free area is filled, and nothing lies where it may not: walls, posts, open edges, neighbours."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from cutopt.checks.evidence import Evidence, cell_to_layout
from cutopt.checks.finding import Fault, fault
from cutopt.checks.ground import Ground, ground
from cutopt.checks.laid import joined, widest_joint
from cutopt.checks.leftopen import left_open
from cutopt.checks.shapes import (
    TOLERANCE,
    common,
    exceeds,
    falls_short,
    inside,
    nothing,
    number,
    overlap,
    polygon,
    without,
)
from cutopt.planfile.model import Area, Cell, Piece

CRUMB = 1.0  # mm2: ground in a cell that is not worth a word
MOST_CELLS = 400_000  # of an area: more are a fault of the grid, not a terrace
MOST_NAMED = 100  # missing cells of an area that are named


def coverage(evidence: Evidence) -> Iterator[Fault]:
    """All faults of how areas are filled."""
    pieces = {piece.id: piece for piece in evidence.plan.pieces}
    for area in evidence.plan.areas:
        land = ground(area)
        yield from _grid(evidence, area)
        yield from _missing_cells(evidence, land)
        for cell in area.cells:
            yield from _cell(evidence, land, cell, [pieces[name] for name in cell.pieces if name in pieces])


def _grid(evidence: Evidence, area: Area) -> Iterator[Fault]:
    tile, where = evidence.tile, f"area {area.name}"
    turns = {cell.quarter_turn for cell in area.cells}
    sizes = (tile.length + tile.joint[0], tile.width + tile.joint[1])
    if len(turns) > 1 and (abs(sizes[0] - sizes[1]) > 2 * tile.hole_slack or tile.length != tile.width):
        yield fault("quarter-turn", where, "only square tiles with equal hole insets may be turned in some cells only")
    wanted = sizes[::-1] if turns == {True} else sizes
    for axis, pitch, want in zip("xy", area.grid.pitch, wanted, strict=True):
        if exceeds(abs(pitch - want), 2 * tile.hole_slack):
            text = (
                f"pitch along {axis} is {number(pitch)} and tile plus joint {number(want)}: pins would miss their holes"
            )
            yield fault("grid", where, text)


def _where(area: Area, cell: Cell) -> str:
    return f"{area.name} cell ({cell.row}, {cell.col})"


def _missing_cells(evidence: Evidence, land: Ground) -> Iterator[Fault]:
    """Cells of the grid that meet ground to be covered and are not listed."""
    area = land.area
    if land.need.is_empty:
        return
    if min(area.grid.pitch) <= 0:
        yield fault("grid", f"area {area.name}", f"has a pitch of {area.grid.pitch}; more than 0 is meant")
        return
    shapely.prepare(land.need)
    x0, y0, x1, y1 = land.need.bounds
    (ox, oy), (px, py) = area.grid.origin, area.grid.pitch
    many = ((x1 - x0) / px + 1) * ((y1 - y0) / py + 1)
    if many > MOST_CELLS:
        text = f"its pitch makes about {many:.3g} cells; at most {MOST_CELLS} are looked at"
        yield fault("grid", f"area {area.name}", text)
        return
    rows = range(math.floor((y0 - oy) / py), math.floor((y1 - oy) / py) + 1)
    cols = range(math.floor((x0 - ox) / px), math.floor((x1 - ox) / px) + 1)
    listed = {(cell.row, cell.col) for cell in area.cells}
    named = 0
    for row in rows:
        for cell in _meeting(evidence, land, row, [col for col in cols if (row, col) not in listed]):
            named += 1
            if named > MOST_NAMED:
                yield fault("missing-cell", f"area {area.name}", f"more than {MOST_NAMED} cells are not listed")
                return
            yield fault("missing-cell", _where(area, cell), "meets ground to be covered and is not listed")


def _meeting(evidence: Evidence, land: Ground, row: int, cols: list[int]) -> Iterator[Cell]:
    """Cells of a row that meet ground to be covered."""
    area = land.area
    turned = bool(area.cells) and all(cell.quarter_turn for cell in area.cells)
    (x, y), (px, py) = area.grid.origin, area.grid.pitch
    size = (evidence.tile.width, evidence.tile.length) if turned else (evidence.tile.length, evidence.tile.width)
    lefts, low = [x + col * px for col in cols], y + row * py
    places = shapely.box(lefts, low, [left + size[0] for left in lefts], low + size[1])
    for col, place, meets in zip(cols, places, shapely.intersects(land.need, places), strict=True):
        ground = common(place, land.need) if meets else Polygon()
        if ground.area > CRUMB and not nothing(ground):
            yield Cell(row=row, col=col, quarter_turn=turned, kind="left", pieces=(), order=0, liftable=False, left=())


def _cell(evidence: Evidence, land: Ground, cell: Cell, pieces: list[Piece]) -> Iterator[Fault]:
    where = _where(land.area, cell)
    move = cell_to_layout(evidence.plan, land.area, cell)
    place = move.region(evidence.rectangle)
    shapes = {piece.id: move.region(polygon(piece.outline, piece.holes)) for piece in pieces}
    yield from _kind(cell, where)
    if cell.kind == "whole":
        yield from _clear(land, where, place)
        return
    for name, shape in shapes.items():
        yield from _clear(land, f"piece {name}", shape)
        if not inside(shape, place):
            yield fault("outside-cell", f"piece {name}", "reaches beyond the whole tile of its cell")
        yield from _cut_at_open_edge(evidence, land, f"piece {name}", place, shape)
    yield from _apart(evidence, where, shapes)
    # halves of a split and a piece with its infill lie a kerf apart, or a joint where they have pins of their own; so
    # does the ground of a half that is not laid
    joint = widest_joint(evidence.tile)
    covered = joined(list(shapes.values()), joint if len(shapes) > 1 else 0.0)
    lefts = [polygon(left.outline) for left in cell.left]
    told = joined([covered, *lefts], joint if len(shapes) + len(lefts) > 1 else 0.0)
    open_ground = without(common(land.need, place), told)
    if open_ground.area > CRUMB and not nothing(open_ground):
        text = f"{number(open_ground.area)} mm2 is to be covered and neither covered nor listed as left open"
        yield fault("coverage", where, text)
    yield from left_open(evidence, land, cell, move, covered)


def _apart(evidence: Evidence, where: str, shapes: dict[str, Polygon]) -> Iterator[Fault]:
    """Pieces of one cell do not lie on one another, nor so close that no blade could have parted them."""
    kerf = min(evidence.plan.kerf.values(), default=0.0)
    for (one, a), (other, b) in combinations(shapes.items(), 2):
        gap = a.distance(b)
        if overlap(a, b):
            yield fault("overlap", where, f"pieces {one} and {other} overlap")
        elif falls_short(gap, kerf):
            text = f"pieces {one} and {other} are {number(gap)} apart; at least a kerf of {number(kerf)} is meant"
            yield fault("piece-slit", where, text)


def _kind(cell: Cell, where: str) -> Iterator[Fault]:
    if cell.kind == "whole" and (cell.pieces or cell.left):
        yield fault("cell-kind", where, "is whole and lists pieces or open ground")
    if cell.kind == "cut" and not cell.pieces:
        yield fault("cell-kind", where, "is cut and lists no piece")
    if cell.kind == "left" and cell.pieces:
        yield fault("cell-kind", where, "is left open and lists pieces")


def _clear(land: Ground, where: str, shape: Polygon) -> Iterator[Fault]:
    """Nothing nearer to a wall or post than its least gap; nothing beyond the outline."""
    if shape.is_empty:
        return
    if not inside(shape, land.outline):
        beyond = [f"{edge.kind} edge" for edge, line in land.limits if _crosses(shape, line)]
        rule, what = ("open-edge", beyond[0]) if beyond else ("outside-area", "outline")
        yield fault(rule, where, f"reaches over the {what} of {land.area.name}")
    for obstacle in land.obstacles:
        gap = shape.distance(obstacle.shape)
        if falls_short(gap, obstacle.least):
            rule = "post-gap" if obstacle.name.startswith("post") else "wall-gap"
            yield fault(
                rule, where, f"lies {number(gap)} from {obstacle.name}; at least {number(obstacle.least)} is meant"
            )


def _crosses(shape: BaseGeometry, line: BaseGeometry) -> bool:
    return bool(shape.buffer(-TOLERANCE, join_style="mitre").intersects(line))


def _cut_at_open_edge(
    evidence: Evidence, land: Ground, where: str, place: Polygon, shape: Polygon
) -> Iterator[Fault]:  # fmt: skip
    """Along open and stone edges only whole tiles lie: no piece is cut next to where its cell sticks out over one."""
    for edge, line in land.limits:
        if not _crosses(place, line):
            continue
        beyond = place.difference(land.outline)
        if any(overlap(part.buffer(evidence.limits.thinnest_strip), shape) for part in _beyond(beyond, line)):
            yield fault("open-edge", where, f"is cut along an {edge.kind} edge, where only whole tiles lie")


def _beyond(region: BaseGeometry, line: BaseGeometry) -> list[BaseGeometry]:
    parts = list(getattr(region, "geoms", [region]))
    return [part for part in parts if part.distance(line) <= 1.0]
