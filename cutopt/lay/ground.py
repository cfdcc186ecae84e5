"""The area's ground: where wood may lie, where it must, and the rails along which tiles are cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from cutopt.geometry import FloatPoint, Rail, Ring, polygon
from cutopt.job.records import Edge, Post
from cutopt.site import Site

UNCUT = ("open", "stone")  # kinds of edge that only whole tiles meet


@dataclass(frozen=True, kw_only=True, slots=True)
class Ground:
    """`allowed` keeps the least gaps, `needed` the most; between them a cut may slide along its rail.

    `rails` are the walls' and posts' lines at the least gap, kept wood on the left; `round_posts` tells which of them
    belong to round posts. `open_lines` are edges that no cut tile may cross.
    """

    outline: shapely.Polygon
    allowed: shapely.Geometry
    needed: shapely.Geometry
    rails: tuple[Rail, ...]
    round_posts: shapely.Geometry
    posts: shapely.Geometry
    drains: shapely.Geometry
    open_lines: tuple[tuple[str, shapely.LineString], ...]


def ground_of(site: Site) -> Ground:
    """The ground of a site, ticks of the layout frame."""
    outline = polygon(site.outline)
    edges = _edge_ends(site.outline)
    posts = [post for post in site.posts if post.kind == "post"]
    allowed = outline.difference(_joined(_keep_outs(site, 0) + [_grown(p, p.gap[0]) for p in posts]))
    needed = outline.difference(_joined(_keep_outs(site, 1) + [_grown(p, p.gap[1]) for p in posts]))
    rails = [_wall_rail(ends, edge) for ends, edge in zip(edges, site.edges, strict=True) if edge.kind not in UNCUT]
    rails += [
        _cap_rail(a, b, edge, at_end)
        for i, ((a, b), edge) in enumerate(zip(edges, site.edges, strict=True))
        for at_end in (False, True)
        if _bare_end(site, i, [edge.gap[0] for edge in site.edges], at_end=at_end)
    ]
    rails += [rail for post in posts for rail in _post_rails(post)]
    return Ground(
        outline=outline,
        allowed=allowed,
        needed=needed,
        rails=tuple(rails),
        round_posts=shapely.union_all([_grown(p, p.gap[0]) for p in posts if p.round]),
        posts=shapely.union_all([polygon(p.outline) for p in posts]),
        drains=shapely.union_all([polygon(p.outline) for p in site.posts if p.kind == "drain"]),
        open_lines=tuple(
            (edge.kind, shapely.LineString(ends))
            for ends, edge in zip(edges, site.edges, strict=True)
            if edge.kind in UNCUT
        ),
    )


def _edge_ends(outline: Ring) -> list[tuple[FloatPoint, FloatPoint]]:
    return [(a, b) for a, b in zip(outline, (*outline[1:], *outline[:1]), strict=True)]


def _keep_outs(site: Site, which: int) -> list[shapely.Polygon]:
    """Along each edge the strip of its least (0) or most (1) gap, mitred with its neighbours' strips.

    An open edge asks for no wood near it, so only its least gap counts.
    """
    strips = []
    ends = _edge_ends(site.outline)
    gaps = [edge.gap[0 if edge.kind in UNCUT else which] for edge in site.edges]
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


def _cap_rail(a: FloatPoint, b: FloatPoint, edge: Edge, at_end: bool) -> Rail:
    """The line that wood is cut along past a wall's bare end."""
    least, most = edge.gap
    _, near, far = _beyond(a, b, least, at_end)
    return Rail(a=near, b=far, slack=most - least) if at_end else Rail(a=far, b=near, slack=most - least)


def _joined(strips: list[shapely.Polygon]) -> shapely.Geometry:
    """One region of many strips; closed by a tick, since mitres that meet leave cracks of rounding between them."""
    return shapely.union_all(strips).buffer(1, join_style="mitre").buffer(-1, join_style="mitre")


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


def _grown(post: Post, gap: int) -> shapely.Polygon:
    return polygon(post.outline).buffer(gap, join_style="mitre", mitre_limit=3.0)


def _wall_rail(ends: tuple[FloatPoint, FloatPoint], edge: Edge) -> Rail:
    least, most = edge.gap
    return Rail(a=ends[0], b=ends[1], slack=most).slid(least)


def _post_rails(post: Post) -> list[Rail]:
    """The post's sides, run clockwise so that the wood is on the left."""
    least, most = post.gap
    return [Rail(a=b, b=a, slack=most).slid(least) for a, b in _edge_ends(post.outline)]
