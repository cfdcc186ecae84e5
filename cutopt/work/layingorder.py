"""The order in which the cells of an area are laid.

From the start wall row by row towards the way out. A piece that is notched around a post goes on to it sideways, its
opening first; the cell that it comes from has to be bare, so it is laid after. What lies over a drain comes last, so
that it can be lifted.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Mapping
from itertools import pairwise

import shapely

from cutopt.geometry import polygon, polygons
from cutopt.lay.laying import Surveyed
from cutopt.lay.records import Cell, Layout, Piece, corner_of, to_layout
from cutopt.tile import Point

At = tuple[int, int]  # row and column
Turn = tuple[bool, bool, int, int]  # open, over a drain, row and column as they are come to
WAYS = ((1, 0), (-1, 0), (0, 1), (0, -1))  # along x and y, from a cell to those beside it
SKEW = math.radians(30)  # a way out that faces a corner more than this is left along either side


def laying_order(layout: Layout, area: Surveyed) -> list[At]:
    """Rows and columns of an area's cells in their order, those that stay open at the end."""
    leaving = area.site.leaving
    down, back = leaving[1] < -math.cos(SKEW), leaving[0] < -math.sin(SKEW)
    turns: dict[At, Turn] = {}
    for cell in layout.cells:
        row, col = (-cell.row if down else cell.row), (-cell.col if back else cell.col)
        turns[cell.row, cell.col] = (cell.kind == "left", cell.liftable, row, col)
    after: dict[At, set[At]] = {at: set() for at in turns}
    pieces = layout.by_cell
    for cell in layout.cells:
        at = (cell.row, cell.col)
        for piece in (piece for piece in pieces.get(at, ()) if piece.shape.notches):
            came = list(_came_from(piece, cell, layout, area))
            if came and all(one in turns for one in came):  # of several ways in, the one that is open longest
                last = max(came, key=lambda one: turns[one])
                if turns[last][:2] == turns[at][:2]:
                    after[last].add(at)
    kinds = sorted({turn[:2] for turn in turns.values()})
    of_kind = [{at: turn for at, turn in turns.items() if turn[:2] == kind} for kind in kinds]
    return [at for some in of_kind for at in _sorted(some, {at: after[at] for at in some})]


def _sorted(turns: Mapping[At, Turn], after: Mapping[At, set[At]]) -> list[At]:
    """By their turns, but none before those that it has to come after; of a circle, the first goes first."""
    followers: dict[At, list[At]] = {}
    for at, before in after.items():
        for one in before:
            followers.setdefault(one, []).append(at)
    waiting = {at: len(before) for at, before in after.items()}
    ready = [(turns[at], at) for at, count in waiting.items() if not count]
    heapq.heapify(ready)
    by_turn = sorted(turns, key=lambda at: turns[at])
    order: dict[At, None] = {}
    while len(order) < len(turns):
        at = heapq.heappop(ready)[1] if ready else next(at for at in by_turn if at not in order)
        if at in order:
            continue
        order[at] = None
        for follower in followers.get(at, ()):
            waiting[follower] -= 1
            if not waiting[follower]:
                heapq.heappush(ready, (turns[follower], follower))
    return list(order)


def _came_from(piece: Piece, cell: Cell, layout: Layout, area: Surveyed) -> Iterator[At]:
    """The cells that a piece around posts may come from: those from where none of the posts is in its way."""
    corner = corner_of(layout.origin, layout.pitch, cell.row, cell.col)
    ring, *holes = (
        [to_layout(point, corner, cell.quarter_turn, area.job.tile.width) for point in ring]
        for ring in (piece.shape.outline, *piece.shape.holes)
    )
    wood = shapely.Polygon(ring, holes)
    hull = wood.convex_hull
    posts = [polygon(post.outline) for post in area.site.posts if post.kind == "post"]
    posts = [post for post in posts if _meet(post, hull)]
    for dx, dy in WAYS if posts else ():
        away = -dx * layout.pitch[0], -dy * layout.pitch[1]
        if not any(_meet(_swept(post, away), wood) for post in posts):
            yield cell.row + dy, cell.col + dx


def _meet(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    """Whether two shapes overlap by more than rounding."""
    return bool(polygons(one.intersection(other)))


def _swept(shape: shapely.Polygon, by: Point) -> shapely.Geometry:
    """All that a shape passes over on its way."""
    (x, y), ring = by, shape.exterior.coords
    bands = [polygon([a, b, (b[0] + x, b[1] + y), (a[0] + x, a[1] + y)]) for a, b in pairwise(ring)]
    moved = shapely.transform(shape, lambda points: points + by)
    return shapely.union_all([shape, moved, *(band for band in bands if band.area > 0)])
