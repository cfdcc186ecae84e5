"""How pieces come to the posts that they are notched around, and what that asks of the order of laying.

A piece goes on to its posts sideways, its notch's opening first, over the ground of a cell beside its own: that has to
be bare by then, so its cell is laid later. Of several cells that it can come from one is enough.

coming      the cell beside its own that a piece may come from
wait        the comings of one piece, where one of them has to be laid after it
kind        whether a cell stays open, and whether it is over a drain: those of each kind are laid after those before
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import shapely

from cutopt.geometry import polygons
from cutopt.lay.records import Cell, Layout, Piece, Shape, corner_of, to_layout
from cutopt.lay.surveyed import Surveyed

At = tuple[int, int]  # row and column
Wait = frozenset[At]
Kind = tuple[bool, bool]
BESIDE = ((1, 0), (-1, 0), (0, 1), (0, -1))  # along x and y, from a cell to those beside it
DIRECTIONS = 24  # all round: those in which a piece is tried for a way off its posts


def kind_of(cell: Cell) -> Kind:
    """Whether it stays open, and whether it is over a drain."""
    return cell.kind == "left", cell.liftable


def waits_of(
    pieces: Sequence[Piece], cell: Cell, layout: Layout, area: Surveyed, kinds: Mapping[At, Kind]
) -> tuple[Wait, ...]:
    """Of each piece of a cell that needs one: the cells of which one has to be laid after it. `kinds`: of all cells."""
    own = kinds[cell.row, cell.col]
    found = []
    for piece in (piece for piece in pieces if piece.shape.notches):
        came = list(_comings(piece, cell, layout, area))
        if all(one in kinds and kinds[one] <= own for one in came):
            found.append(frozenset(one for one in came if kinds[one] == own))
    return tuple(wait for wait in found if wait)


def last_first(turns: Sequence[At], waits: Mapping[At, Sequence[Wait]]) -> tuple[dict[At, list[At]], list[At]]:
    """Of each cell's waits the cell chosen, so that no cells wait for each other in a circle; and those that have to.

    `turns`: the cells in their order as far as nothing waits. The order is found from its end: a cell is free to be
    laid before all that are there by then when each of its waits has one of them. None that could be is left out,
    whatever the choices, since a cell that is there never hinders another.
    """
    place = {at: n for n, at in enumerate(turns)}
    lacking = {at: set(range(len(waits.get(at, ())))) for at in turns}
    wanted: dict[At, list[tuple[At, int]]] = {}
    for at in turns:
        for k, wait in enumerate(waits.get(at, ())):
            for one in sorted(wait):
                wanted.setdefault(one, []).append((at, k))
    ready = [-n for at, n in place.items() if not lacking[at]]
    heapq.heapify(ready)
    chosen: dict[At, list[At]] = {at: [] for at in turns}
    while ready:
        here = turns[-heapq.heappop(ready)]
        for at, k in wanted.get(here, ()):
            if k in lacking[at]:
                lacking[at].discard(k)
                chosen[at].append(here)
                if not lacking[at]:
                    heapq.heappush(ready, -place[at])
    return chosen, [at for at in turns if lacking[at]]


def stuck(shape: Shape, posts: Sequence[shapely.Polygon]) -> bool:
    """Whether a piece cannot be slid off the posts in its notches in any direction; all in one frame."""
    wood = shapely.Polygon(shape.outline, shape.holes)
    hull = wood.convex_hull
    held = [post for post in posts if _meet(post, hull)]
    far = math.dist(hull.bounds[:2], hull.bounds[2:])
    turns = (2 * math.pi * k / DIRECTIONS for k in range(DIRECTIONS if held else 0))
    ways = [(far * math.cos(turn), far * math.sin(turn)) for turn in turns]
    return bool(held) and not any(_free(wood, held, way) for way in ways)


def _comings(piece: Piece, cell: Cell, layout: Layout, area: Surveyed) -> Iterator[At]:
    """The cells that a piece around posts may come from: those from where none of the posts is in its way."""
    corner = corner_of(layout.origin, layout.pitch, cell.row, cell.col)
    ring, *holes = (
        [to_layout(point, corner, cell.quarter_turn, area.job.tile.width) for point in ring]
        for ring in (piece.shape.outline, *piece.shape.holes)
    )
    wood = shapely.Polygon(ring, holes)
    hull = wood.convex_hull
    posts = [post for post in area.posts_near(hull) if _meet(post, hull)]
    for dx, dy in BESIDE if posts else ():
        if _free(wood, posts, (-dx * layout.pitch[0], -dy * layout.pitch[1])):
            yield cell.row + dy, cell.col + dx


def _free(wood: shapely.Polygon, posts: Sequence[shapely.Polygon], way: tuple[float, float]) -> bool:
    """Whether posts can be moved off through a piece's notches; it comes the way that they go."""
    return not any(_meet(_swept(post, way), wood) for post in posts)


def _meet(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    """Whether two shapes overlap by more than rounding."""
    return bool(polygons(one.intersection(other)))


def _swept(shape: shapely.Polygon, by: tuple[float, float]) -> shapely.Geometry:
    """All that a shape passes over on its way."""
    (x, y), ring = by, shape.exterior.coords
    bands = [shapely.Polygon([a, b, (b[0] + x, b[1] + y), (a[0] + x, a[1] + y)]) for a, b in pairwise(ring)]
    moved = shapely.transform(shape, lambda points: points + by)
    return shapely.union_all([shape, moved, *(band for band in bands if band.area > 0)])
