"""Cut slat ends and the sawn ends of backers are sealed."""

from __future__ import annotations

from collections.abc import Iterator

from shapely import dwithin, prepare
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cutopt.checks.evidence import Evidence, Placed, is_end, sawn_edges
from cutopt.checks.finding import Fault, fault
from cutopt.checks.fragments import name
from cutopt.checks.shapes import TOLERANCE, Spot, along, board, number, same
from cutopt.checks.wood import IN_PLACE, sawn_ends
from cutopt.planfile.model import Backer, Sealed

BESIDE = 3 * TOLERANCE  # how far a sealed line may be from the end that it covers
UNSEALED = 1.0  # mm of an end that may be missing in a sealed line, where boards have chamfered corners


def sealing(evidence: Evidence) -> Iterator[Fault]:
    """All faults of sealed ends."""
    tile = evidence.plan.tile
    for placed in evidence.placed:
        sealed = [line for line in placed.source.sealed if line.piece == placed.piece.id]
        on_slats = _covered([line for line in sealed if same(line.thickness, tile.slat_thickness)])
        on_backers = _covered([line for line in sealed if same(line.thickness, tile.backer_thickness)])
        places: list[BaseGeometry] = [placed.outline.boundary]
        for piece_board in placed.boards:
            for edge in sawn_edges(evidence.tile, piece_board.outline):
                if is_end(edge, evidence.limits):
                    places.append(LineString(edge))
                    if not on_slats.covers(places[-1]) and places[-1].difference(on_slats).length > UNSEALED:
                        yield fault("sealed", placed.where, f"a cut end of {name(piece_board)} is not sealed")
        for backer in placed.backers:
            places.append(board(backer.line, backer.width).exterior)
            yield from _backer_ends(evidence, placed, backer, on_backers)
        yield from _needless(evidence, placed, sealed, places)


def _covered(lines: list[Sealed]) -> BaseGeometry:
    covered = unary_union([LineString(line.path).buffer(BESIDE, quad_segs=1) for line in lines if len(line.path) >= 2])
    prepare(covered)
    return covered


def _backer_ends(evidence: Evidence, placed: Placed, backer: Backer, covered: BaseGeometry) -> Iterator[Fault]:
    """Each sawn end is covered; a stretch hung elsewhere may have been turned end for end."""
    if len(backer.line) != 2 or backer.line[0] == backer.line[1]:
        return
    sawn = sawn_ends(evidence, backer)
    ways = {sawn} if backer.state in IN_PLACE else {sawn, sawn[::-1]}
    done = tuple(_end_sealed(placed.outline, backer, end, covered) for end in (0, 1))
    if not any(all(is_done or not is_sawn for is_done, is_sawn in zip(done, way, strict=True)) for way in ways):
        yield fault("sealed", f"backer {backer.id} of {placed.where}", "a sawn end is not sealed")


def _end_sealed(outline: Polygon, backer: Backer, end: int, covered: BaseGeometry) -> bool:
    """Whether sealed lines cover an end: straight across it, or along the oblique cut that made it."""
    at, other = backer.line[end], backer.line[1 - end]
    way = along(other, at)
    half = backer.width / 2
    across = LineString(
        [(at[0] - way[1] * half, at[1] + way[0] * half), (at[0] + way[1] * half, at[1] - way[0] * half)]
    )
    if covered.covers(across) or across.difference(covered).length <= UNSEALED:
        return True
    beyond = (at[0] + way[0] * 2 * half, at[1] + way[1] * 2 * half)
    reach = board([other, beyond], backer.width).buffer(BESIDE)
    cut = outline.boundary.intersection(reach).intersection(covered)
    return _spread(cut, at, way) >= backer.width - UNSEALED


def _spread(shape: BaseGeometry, at: Spot, way: Spot) -> float:
    """The extent of a shape across a direction, of what lies no further back than a width from `at`."""
    spots = [spot for part in getattr(shape, "geoms", [shape]) if not part.is_empty for spot in part.coords]
    offs = [(x - at[0]) * -way[1] + (y - at[1]) * way[0] for x, y in spots]
    return max(offs, default=0.0) - min(offs, default=0.0)


def _needless(evidence: Evidence, placed: Placed, sealed: list[Sealed], places: list[BaseGeometry]) -> Iterator[Fault]:
    """Sealed lines lie on ends; sealer elsewhere would be counted for nothing."""
    tile = evidence.plan.tile
    for line in sealed:
        where = f"sealed line of {placed.where}"
        if len(line.path) < 2:
            yield fault("sealed", where, "has fewer than two points")
        elif not all(dwithin(places, Point(spot), BESIDE).any() for spot in line.path):
            x, y = line.path[0]
            yield fault("sealed", where, f"from ({number(x)}, {number(y)}) lies on no sawn end")
        if not (same(line.thickness, tile.slat_thickness) or same(line.thickness, tile.backer_thickness)):
            yield fault("sealed", where, f"has a thickness of {number(line.thickness)}, of neither slat nor backer")
