"""What an area leaves free: its outline less the gaps along walls and around posts. Layout frame, millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cutopt.checks.shapes import Spot, band, polygon
from cutopt.planfile.model import Area, Edge, Post

MITRE = 2.0  # gaps that a cut along a wall runs on past its end, at most
CUT_TO = ("wall", "flush")  # edges that tiles are cut to, with a gap; the others take whole tiles only


@dataclass(frozen=True, kw_only=True, slots=True)
class Obstacle:
    """A wall's line or a post, and the gap range that pieces keep from it."""

    name: str
    shape: BaseGeometry
    least: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Ground:
    """`need`: must be covered (most gap). `room`: may be covered (least gap). `limits`: open and stone edges."""

    area: Area
    outline: Polygon
    need: BaseGeometry
    room: BaseGeometry
    obstacles: tuple[Obstacle, ...]
    limits: tuple[tuple[Edge, LineString], ...]


def ground(area: Area) -> Ground:
    """Derive an area's ground; the outline has as many edges as corners."""
    outline = polygon(area.outline)
    posts = posts_of(area)
    return Ground(
        area=area,
        outline=outline,
        need=outline.difference(_blocked(area, posts, 1)),
        room=outline.difference(_blocked(area, posts, 0)),
        obstacles=(*_walls(area), *(_post(post) for post in posts)),
        limits=tuple((edge, line) for edge, line in _lines(area) if edge.kind not in CUT_TO),
    )


def bare_ground(area: Area) -> BaseGeometry:
    """What has to be covered with round posts taken as they are: stone is laid around them."""
    gaps = [edge.gap[1] for edge in area.edges]
    posts = [strip for post in posts_of(area) for strip in _around(post, post.gap[1])]
    return polygon(area.outline).difference(unary_union([*_within(area, gaps), *_past_ends(area, gaps), *posts]))


def _lines(area: Area) -> list[tuple[Edge, LineString]]:
    corners = area.outline
    ends = [*corners[1:], *corners[:1]]
    return [(edge, LineString([a, b])) for edge, a, b in zip(area.edges, corners, ends, strict=False)]


def _walls(area: Area) -> list[Obstacle]:
    return [
        Obstacle(name=f"{edge.kind} {number}", shape=line, least=edge.gap[0])
        for number, (edge, line) in enumerate(_lines(area))
        if edge.kind in CUT_TO
    ]


def _post(post: Post) -> Obstacle:
    return Obstacle(name=f"post {post.name}", shape=polygon(post.outline), least=post.gap[0])


def _blocked(area: Area, posts: Sequence[Post], bound: Literal[0, 1]) -> BaseGeometry:
    """What lies within the least (0) or most (1) gap of walls and posts, mitred at corners that stick out.

    Past a wall's end nothing has to be covered within its most gap either: its least gap may keep wood out there.
    """
    gaps = [edge.gap[bound] for edge in area.edges]
    strips = _within(area, gaps)
    if bound == 1:
        strips += _past_ends(area, gaps)
    for post in posts:
        strips += _around(post, post.gap[bound])
        if post.round and bound == 1:  # a job may have round posts cut round square, along the tiles
            strips.append(squared(post, post.gap[1]))
    return unary_union(strips)


def beside(area: Area, gap: float) -> BaseGeometry:
    """What lies within a gap of walls and posts, corners square: of round posts that of the square around them, too."""
    gaps = [gap] * len(area.edges)
    strips = [*_within(area, gaps), *_past_ends(area, gaps)]
    for post in posts_of(area):
        strips += [*_around(post, gap), *([squared(post, gap)] if post.round else [])]
    return unary_union(strips)


def squared(post: Post, gap: float) -> Polygon:
    """The rectangle along the tiles that stands off a post by a gap."""
    return box(*polygon(post.outline).buffer(gap).bounds)


def posts_of(area: Area) -> list[Post]:
    """The posts that stand in the area's ground."""
    return [post for post in area.posts if post.kind == "post" and not polygon(post.outline).is_empty]


def _within(area: Area, gaps: Sequence[float]) -> list[BaseGeometry]:
    """The strip along the walls; none where the outline has not as many edges as corners (`rings.py` says so)."""
    offsets = [gap if edge.kind in CUT_TO else 0.0 for edge, gap in zip(area.edges, gaps, strict=True)]
    return [band(area.outline, offsets, closed=True)] if len(offsets) == len(area.outline) else []


def _past_ends(area: Area, gaps: Sequence[float]) -> list[BaseGeometry]:
    """What lies around each wall, on past its ends: at a blunt corner a cut along it runs on to the next edge."""
    found = []
    ring = area.outline
    for number, ((edge, line), gap) in enumerate(zip(_lines(area), gaps, strict=False)):
        if edge.kind in CUT_TO and gap > 0 and line.length > 0:
            corners = ring[number - 1], ring[number], ring[(number + 1) % len(ring)], ring[(number + 2) % len(ring)]
            past = [MITRE * gap if _turns_left(*corners[end : end + 3]) else gap for end in (0, 1)]
            (x0, y0), (x1, y1) = line.coords
            dx, dy = (x1 - x0) / line.length, (y1 - y0) / line.length
            ends = [(x0 - past[0] * dx, y0 - past[0] * dy), (x1 + past[1] * dx, y1 + past[1] * dy)]
            found.append(LineString(ends).buffer(gap, cap_style="flat"))
    return found


def _turns_left(before: Spot, here: Spot, after: Spot) -> bool:
    """Whether the outline has a corner that sticks out."""
    turn = (here[0] - before[0]) * (after[1] - here[1]) - (here[1] - before[1]) * (after[0] - here[0])
    return turn > 0


def _around(post: Post, gap: float) -> list[BaseGeometry]:
    """A post, and the strip around it."""
    return [polygon(post.outline), band(post.outline, [-gap] * len(post.outline), closed=True)]
