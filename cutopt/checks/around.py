"""A piece that is notched around a post can be laid: it comes sideways over ground that is bare by then."""

from __future__ import annotations

from collections.abc import Iterator

from shapely import affinity
from shapely.geometry import Polygon

from cutopt.checks.evidence import Evidence, Placed
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import overlap, polygon
from cutopt.planfile.model import Area

WAYS = ((1, 0), (-1, 0), (0, 1), (0, -1))  # along x and y: where the piece comes from
LOOKS = 24  # places on its way that are looked at


def around(evidence: Evidence) -> Iterator[Fault]:
    """All pieces that every open way to is closed for when their turn comes. One that no way is open to (a ring that is
    lifted over a low post) is another rule's."""
    orders = {
        (area.name, cell.row, cell.col): cell.order
        for area in evidence.plan.areas
        for cell in area.cells
        if cell.kind != "left"
    }
    for placed in evidence.placed:
        area, cell = placed.area, placed.cell
        open_ = list(_ways(placed, area))
        before = [orders.get((area.name, cell.row + dy, cell.col + dx), cell.order + 1) for dx, dy in open_]
        if before and all(order < cell.order for order in before):
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
    """Whether a shape touches a post on its way in from `away`."""
    steps = ((away[0] * n / LOOKS, away[1] * n / LOOKS) for n in range(1, LOOKS + 1))
    return any(overlap(affinity.translate(shape, x, y), post) for x, y in steps)
