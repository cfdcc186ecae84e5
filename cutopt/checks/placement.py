"""Where pieces lie on their sources: inside, apart, never mirrored, factory edges where the strategy keeps them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from cutopt.checks.evidence import Evidence, Placed, cell_to_layout
from cutopt.checks.finding import Fault, fault
from cutopt.checks.laid import Laid, laid
from cutopt.checks.shapes import TOLERANCE, Spot, equal, falls_short, inside, number, polygon, ring_edges, same
from cutopt.planfile.model import Source

# side of the tile: which axis it is across, at which end, and the way out of the tile
SIDES: dict[str, tuple[int, int, Spot]] = {
    "u0": (0, 0, (-1.0, 0.0)),
    "u1": (0, 1, (1.0, 0.0)),
    "v0": (1, 0, (0.0, -1.0)),
    "v1": (1, 1, (0.0, 1.0)),
}
FACING = 1.0  # mm: shorter contact across a joint makes no neighbour


def placement(evidence: Evidence) -> Iterator[Fault]:
    """All faults of placements."""
    for source in evidence.plan.sources:
        yield from _source_outline(evidence, source)
        yield from _apart(evidence, source)
        if evidence.plan.strategy == "one-for-one" and len(source.placements) > 1:
            yield fault("strategy", f"source {source.id}", "holds several pieces; one-for-one cuts one from each tile")
    lying = {area.name: laid(evidence, area) for area in evidence.plan.areas}
    for placed in evidence.placed:
        if not inside(placed.outline, polygon(placed.source.outline)):
            yield fault("outside-source", placed.where, "reaches beyond its source")
        if placed.half_turn and not evidence.tile.slats_symmetric:
            yield fault("half-turn", placed.where, "is half-turned, and the slats are not symmetric about the middle")
        yield from _mirrored(placed)
        if evidence.plan.strategy != "anywhere":
            yield from _factory_sides(evidence, placed, lying[placed.area.name])


def _source_outline(evidence: Evidence, source: Source) -> Iterator[Fault]:
    expected: BaseGeometry = evidence.rectangle
    for stock in evidence.plan.stock:
        if source.from_ == f"stock:{stock.id}":
            expected = polygon(stock.outline)
    if not equal(polygon(source.outline), expected):
        yield fault("source-outline", f"source {source.id}", "is not the outline of the tile or offcut that it is")


def _apart(evidence: Evidence, source: Source) -> Iterator[Fault]:
    kerfs = [evidence.plan.kerf[cut.saw] for cut in source.cuts if cut.saw in evidence.plan.kerf]
    least = min(kerfs, default=min(evidence.plan.kerf.values(), default=0.0))
    for one, other in combinations(evidence.on(source), 2):
        gap = one.outline.distance(other.outline)
        if falls_short(gap, least):
            text = f"{number(gap)} from piece {other.piece.id}; the blade takes {number(least)}"
            yield fault("kerf-between", one.where, text)


def _mirrored(placed: Placed) -> Iterator[Fault]:
    """A piece that differs from its mirror image however it is turned by halves is marked so, or it is made wrong.

    Its mirror images along u and along v are one another's half turns.
    """
    shape = polygon(placed.piece.outline, placed.piece.holes)
    if placed.piece.chiral or shape.is_empty:
        return
    u0, v0, u1, v1 = shape.bounds
    images = [affinity.scale(shape, a, b, origin=((u0 + u1) / 2, (v0 + v1) / 2)) for a, b in ((-1, 1), (1, -1))]
    if not any(equal(image, shape) for image in images):
        yield fault("chiral", placed.where, "differs from its mirror image, and the plan does not say so")


def _factory_sides(evidence: Evidence, placed: Placed, laid: Laid) -> Iterator[Fault]:
    """Sides that face a neighbour are declared fixed, and lie on the source's own sides."""
    sizes = (evidence.tile.length, evidence.tile.width)
    own = polygon(placed.piece.outline)
    for side, (axis, end, _) in SIDES.items():
        lines = _on_side(own, axis, end * sizes[axis])
        if not lines:
            continue
        faces = any(_faces(evidence, placed, line, side, laid) for line in lines)
        if faces and side not in placed.piece.fixed_sides:
            yield fault("fixed-sides", placed.where, f"faces a laid neighbour at {side}, which is not listed as fixed")
        if not faces and side not in placed.piece.fixed_sides:
            continue
        at = placed.to_source.spot((0.0, 0.0))[axis] if end == 0 else placed.to_source.spot(sizes)[axis]
        if not (same(at, 0.0) or same(at, sizes[axis])):
            text = f"its side {side} lies at {number(at)} on the source, not on a factory edge"
            yield fault("factory-edge", placed.where, text)


def _on_side(shape: Polygon, axis: int, at: float) -> list[tuple[Spot, Spot]]:
    return [e for e in ring_edges(shape) if abs(e[0][axis] - at) <= TOLERANCE and abs(e[1][axis] - at) <= TOLERANCE]


def _faces(evidence: Evidence, placed: Placed, line: tuple[Spot, Spot], side: str, laid: Laid) -> bool:
    """Whether wood of another cell lies just across the joint from a side (in the piece's own frame)."""
    axis, _, out = SIDES[side]
    step = evidence.tile.joint[axis] + 2 * evidence.tile.hole_slack + FACING
    move = cell_to_layout(evidence.plan, placed.area, placed.cell)
    beyond = LineString([move.spot((a[0] + out[0] * step, a[1] + out[1] * step)) for a in line])
    own = (placed.cell.row, placed.cell.col)
    near = laid.tree.query(beyond, predicate="intersects").tolist()
    return any(laid.cells[i] != own and beyond.intersection(laid.shapes[i]).length > FACING for i in near)
