"""The area's ground: where wood may lie, where it must, and the rails along which tiles are cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from cutopt.geometry import FloatPoint, Rail, Ring, extent, polygon
from cutopt.job.records import Edge, Job, Post
from cutopt.site import Site

GRID = 2.0**-10  # ticks
MANY = 50  # strips: fewer are joined in no time
CLEAR = 4  # ticks: strips further apart than twice a tick are not joined
STRAIGHT = 0.98  # of the rectangle along the tiles around it: a post that fills as much stands along them
UNCUT = ("open", "stone")  # kinds of edge that only whole tiles meet


@dataclass(frozen=True, kw_only=True, slots=True)
class Brink(Rail):
    """A rail `least` ticks from the wall or post that it runs along."""

    least: float = 0.0

    def slid(self, distance: float) -> Brink:
        """The parallel line `distance` ticks to the left, further from the wall."""
        nx, ny = self.normal
        a, b = ((p[0] + nx * distance, p[1] + ny * distance) for p in (self.a, self.b))
        return Brink(a=a, b=b, slack=self.slack - distance, least=self.least + distance)


@dataclass(frozen=True, kw_only=True, slots=True)
class Upright:
    """A post as it is cut around: `outline` without gaps, `round_cut` where the notch around it is an arc."""

    outline: shapely.Polygon
    gap: tuple[int, int]
    low: bool
    round_cut: bool

    @property
    def centre(self) -> FloatPoint:
        """Its middle."""
        x0, y0, x1, y1 = self.outline.bounds
        return (x0 + x1) / 2, (y0 + y1) / 2

    @property
    def turned(self) -> bool:
        """Whether it does not stand along the tiles: its sides are oblique cuts."""
        u0, v0, u1, v1 = self.outline.bounds
        return bool(self.outline.area < STRAIGHT * (u1 - u0) * (v1 - v0))

    def grown(self, gap: float) -> shapely.Polygon:
        """The post with a gap around it."""
        return _grown(self.outline, gap)


@dataclass(frozen=True, kw_only=True, slots=True)
class Ground:
    """`allowed` keeps the least gaps, `needed` the most; between them a cut may slide along its brink.

    `unrounded` is `allowed` as if no post stood there that is cut round, the same object where none does; `wanted` is
    what is needed beside the posts as they are, where `needed` takes a round post that is cut square for a square
    one; `firm` is ground further from walls and posts than a dropped fragment may leave open. `brinks` are the walls'
    and posts' lines at the least gap, kept wood on the left. `open_lines` are edges that no cut tile may cross.
    """

    outline: shapely.Polygon
    allowed: shapely.Geometry
    unrounded: shapely.Geometry
    needed: shapely.Geometry
    wanted: shapely.Geometry
    firm: shapely.Geometry
    brinks: tuple[Brink, ...]
    uprights: tuple[Upright, ...]
    posts: shapely.Geometry
    rounds: shapely.Geometry
    drains: shapely.Geometry
    open_lines: tuple[tuple[str, shapely.LineString], ...]


def ground_of(site: Site, job: Job) -> Ground:
    """The ground of a site, ticks of the layout frame."""
    outline = polygon(site.outline)
    posts = [post for post in site.posts if post.kind == "post"]
    uprights = [_upright(post, job) for post in posts]
    straight = [one for one in uprights if not one.round_cut]
    least = _keep_outs(site, [edge.gap[0] for edge in site.edges])
    most = _keep_outs(site, [edge.gap[0 if edge.kind in UNCUT else 1] for edge in site.edges])
    drop = job.rules.dropped_gap
    firm = _keep_outs(site, [edge.gap[0] if edge.kind in UNCUT else max(edge.gap[1], drop) for edge in site.edges])
    as_built = _all_grown([polygon(post.outline) for post in posts], [post.gap[1] for post in posts])

    outlines = [one.outline for one in uprights]
    close = _all_grown(outlines, [one.gap[0] for one in uprights])

    def off(keep_outs: list[shapely.Polygon]) -> shapely.Geometry:
        return outline.difference(_joined(keep_outs), grid_size=GRID)

    allowed = off(least + close)
    needed = off(most + _all_grown(outlines, [one.gap[1] for one in uprights]))
    square = [grown for grown, one in zip(close, uprights, strict=True) if not one.round_cut]
    return Ground(
        outline=outline,
        allowed=allowed,
        unrounded=off(least + square) if len(straight) < len(uprights) else allowed,
        needed=needed,
        wanted=off(most + as_built) if any(post.round for post in posts) else needed,
        firm=off(firm + _all_grown(outlines, [max(one.gap[1], drop) for one in uprights])),
        brinks=(*_wall_brinks(site), *(brink for one in straight for brink in post_brinks(one))),
        uprights=tuple(uprights),
        posts=shapely.union_all(outlines),
        rounds=shapely.union_all([grown for grown, post in zip(as_built, posts, strict=True) if post.round]),
        drains=shapely.union_all([polygon(p.outline) for p in site.posts if p.kind == "drain"]),
        open_lines=tuple(
            (edge.kind, shapely.LineString(ends))
            for ends, edge in zip(_edge_ends(site.outline), site.edges, strict=True)
            if edge.kind in UNCUT
        ),
    )


def _upright(post: Post, job: Job) -> Upright:
    """The post as it is cut around: a round one that is cut square is its own square, set along the tiles."""
    squared = post.round and job.cutting.round_posts == "square"
    outline = shapely.box(*extent(post.outline)) if squared else polygon(post.outline)
    return Upright(outline=outline, gap=post.gap, low=post.low, round_cut=post.round and not squared)


def _wall_brinks(site: Site) -> list[Brink]:
    edges = list(zip(_edge_ends(site.outline), site.edges, strict=True))
    brinks = [_wall_brink(ends, edge) for ends, edge in edges if edge.kind not in UNCUT]
    brinks += [
        _cap_brink(a, b, edge, at_end)
        for i, ((a, b), edge) in enumerate(edges)
        for at_end in (False, True)
        if _bare_end(site, i, [edge.gap[0] for edge in site.edges], at_end=at_end)
    ]
    return brinks


def _edge_ends(outline: Ring) -> list[tuple[FloatPoint, FloatPoint]]:
    return [(a, b) for a, b in zip(outline, (*outline[1:], *outline[:1]), strict=True)]


def _keep_outs(site: Site, gaps: Sequence[int]) -> list[shapely.Polygon]:
    """Along each edge the strip of its gap, mitred with its neighbours' strips.

    An open edge asks for no wood near it, so only its least gap counts.
    """
    strips = []
    ends = _edge_ends(site.outline)
    for i, ((a, b), gap) in enumerate(zip(ends, gaps, strict=True)):
        if gap == 0:
            continue
        before, after = (i - 1) % len(ends), (i + 1) % len(ends)
        start = _overrun((b, a), (a, ends[before][0]), gap, gaps[before], inside=-1)
        strips.append(_strip(a, b, gap, start, _overrun((a, b), ends[after], gap, gaps[after], inside=1)))
        strips += [_cap(a, b, gap, at_end) for at_end in (False, True) if _bare_end(site, i, gaps, at_end=at_end)]
    return strips


def _bare_end(site: Site, number: int, gaps: Sequence[int], *, at_end: bool) -> bool:
    """Whether an edge ends at a corner that sticks into the area, and the next edge has a narrower gap or is open."""
    ring = site.outline
    corner = (number + 1) % len(ring) if at_end else number
    other = (number + 1) % len(ring) if at_end else number - 1
    before, here, after = ring[corner - 1], ring[corner], ring[(corner + 1) % len(ring)]
    turn = (here[0] - before[0]) * (after[1] - here[1]) - (here[1] - before[1]) * (after[0] - here[0])
    return turn < 0 and gaps[other] < gaps[number] and site.edges[number].kind not in UNCUT


def _beyond(a: FloatPoint, b: FloatPoint, gap: float, at_end: bool) -> tuple[FloatPoint, FloatPoint, FloatPoint]:
    """The wall's end, and the two corners of a square cap past it: on the area's side, and across from it."""
    size = math.dist(a, b)
    dx, dy = (b[0] - a[0]) / size * gap, (b[1] - a[1]) / size * gap
    end, way = (b, 1) if at_end else (a, -1)
    out = (end[0] + way * dx, end[1] + way * dy)
    return end, (out[0] - dy, out[1] + dx), (out[0] + dy, out[1] - dx)


def _cap(a: FloatPoint, b: FloatPoint, gap: float, at_end: bool) -> shapely.Polygon:
    """Past a wall's bare end nothing lies within its gap either."""
    end, near, far = _beyond(a, b, gap, at_end)
    middle = ((near[0] + far[0]) / 2, (near[1] + far[1]) / 2)
    back = [(p[0] + end[0] - middle[0], p[1] + end[1] - middle[1]) for p in (near, far)]
    ring = shapely.Polygon([back[0], near, far, back[1]])
    return shapely.geometry.polygon.orient(ring, 1.0)


def _cap_brink(a: FloatPoint, b: FloatPoint, edge: Edge, at_end: bool) -> Brink:
    """The line that wood is cut along past a wall's bare end."""
    least, most = edge.gap
    _, near, far = _beyond(a, b, least, at_end)
    start, end = (near, far) if at_end else (far, near)
    return Brink(a=start, b=end, slack=most - least, least=least)


def _joined(strips: list[shapely.Polygon]) -> shapely.Geometry:
    """One region of many strips; closed by a tick, since mitres that meet leave cracks of rounding between them."""
    # on a fine grid: without one the union of nearly touching strips may lose one of them
    shapes, lone = np.array(strips, dtype=object), _lone(strips)
    joined = shapely.union_all(shapes[~lone], grid_size=GRID)
    parts = [joined, *shapely.set_precision(shapes[lone], GRID)] if lone.any() else joined
    closed = shapely.buffer(shapely.buffer(parts, 1, join_style="mitre"), -1, join_style="mitre")
    return shapely.multipolygons(shapely.get_parts(closed)) if lone.any() else closed


def _lone(strips: list[shapely.Polygon]) -> np.ndarray:
    """Which strips lie clear of all others, where there are many: posts mostly do, and need not be joined."""
    lone = np.full(len(strips), len(strips) >= MANY)
    if lone.any():
        one, other = shapely.STRtree(strips).query(strips, predicate="dwithin", distance=CLEAR)
        lone[one[one != other]] = False
    return lone


def _overrun(
    here: tuple[FloatPoint, FloatPoint], there: tuple[FloatPoint, FloatPoint], gap: float, other: float, *, inside: int
) -> float:
    """How far past its end the strip of gap `gap` along `here` runs to meet the strip of gap `other` along `there`.

    At most twice the wider gap. `inside` is 1 where the area lies to the left of both lines, -1 where to the right.
    """
    d1, d2 = ((line[1][0] - line[0][0], line[1][1] - line[0][1]) for line in (here, there))
    turn = inside * math.atan2(d1[0] * d2[1] - d1[1] * d2[0], d1[0] * d2[0] + d1[1] * d2[1])
    if abs(math.sin(turn)) < 1e-9:
        return 0.0
    meet = (gap * math.cos(turn) - other) / math.sin(turn)
    return min(max(meet, 0.0), 2.0 * max(gap, other))


def _strip(a: FloatPoint, b: FloatPoint, gap: float, before: float, after: float) -> shapely.Polygon:
    size = math.dist(a, b)
    dx, dy = (b[0] - a[0]) / size, (b[1] - a[1]) / size
    p = (a[0] - dx * before - dy * gap, a[1] - dy * before + dx * gap)
    q = (b[0] + dx * after - dy * gap, b[1] + dy * after + dx * gap)
    return polygon([a, b, q, p])


def _grown(outline: shapely.Polygon, gap: float) -> shapely.Polygon:
    return _all_grown([outline], [gap])[0]


def _all_grown(outlines: list[shapely.Polygon], gaps: list[int] | list[float]) -> list[shapely.Polygon]:
    return list(shapely.buffer(outlines, gaps, join_style="mitre", mitre_limit=3.0))


def _wall_brink(ends: tuple[FloatPoint, FloatPoint], edge: Edge) -> Brink:
    least, most = edge.gap
    return Brink(a=ends[0], b=ends[1], slack=most).slid(least)


def post_brinks(post: Upright) -> list[Brink]:
    """The post's sides, run clockwise so that the wood is on the left."""
    least, most = post.gap
    ring = shapely.geometry.polygon.orient(post.outline, -1.0).exterior.coords
    return [Brink(a=a, b=b, slack=most).slid(least) for a, b in pairwise(ring)]
