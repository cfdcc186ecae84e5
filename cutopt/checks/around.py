"""A piece that is notched around a post can be laid: it comes sideways over ground that is bare by then."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from shapely import affinity
from shapely.geometry import Polygon
from shapely.ops import unary_union

from cutopt.checks.evidence import Evidence, Placed
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import overlap, polygon
from cutopt.planfile.model import Area

WAYS = ((1, 0), (-1, 0), (0, 1), (0, -1))  # along x and y: where the piece comes from


def around(evidence: Evidence) -> Iterator[Fault]:
    """All pieces that every open way to is closed for when their turn comes. One that no way is open to (a ring that is
    lifted over a low post) is another rule's; and so is one over a drain, which comes last and can be lifted over those
    that stay down.
    """
    cells = {
        (area.name, cell.row, cell.col): cell
        for area in evidence.plan.areas
        for cell in area.cells
        if cell.kind != "left"
    }
    for placed in evidence.placed:
        area, cell = placed.area, placed.cell
        ways = [cells.get((area.name, cell.row + dy, cell.col + dx)) for dx, dy in _ways(placed, area)]
        before = [other is not None and other.order < cell.order for other in ways]
        lifted = cell.liftable and not any(other.liftable for other in ways if other is not None)
        if before and all(before) and not lifted:
            text = f"goes on to its post from cells that lie by then: it is laid {cell.order}th, they before"
            yield fault("laying-order", f"{area.name} cell ({cell.row}, {cell.col})", text)


def _ways(placed: Placed, area: Area) -> Iterator[tuple[int, int]]:
    """The ways that a piece with a post in its hull can come; none for any other."""
    shape = placed.to_layout.region(placed.outline)
    hull = shape.convex_hull
    posts = [
        post for post in (polygon(post.outline) for post in area.posts if post.kind == "post") if overlap(hull, post)
    ]
    if not posts:
        return
    for dx, dy in WAYS:
        if not any(_hits(shape, post, (dx * area.grid.pitch[0], dy * area.grid.pitch[1])) for post in posts):
            yield dx, dy


def _hits(shape: Polygon, post: Polygon, away: tuple[float, float]) -> bool:
    """Whether a shape touches a post anywhere on its way in from `away`: seen from the shape, the post comes in."""
    x, y = -away[0], -away[1]
    bands = (Polygon([a, b, (b[0] + x, b[1] + y), (a[0] + x, a[1] + y)]) for a, b in pairwise(post.exterior.coords))
    passed = unary_union([post, affinity.translate(post, x, y), *(band for band in bands if band.area > 0)])
    return overlap(shape, passed)
