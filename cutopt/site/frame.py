"""An area turned into the layout frame: x along the start edge, y into the area."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from cutopt.job.records import Area, Edge, Post
from cutopt.tile import Point


@dataclass(frozen=True, kw_only=True, slots=True)
class Frame:
    """The layout frame in the job's frame: its origin in ticks, its turn in degrees anticlockwise."""

    origin: Point
    turn: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Site:
    """An area as it will be laid, in ticks of the layout frame. Corner 0 of `outline` begins edge 0, as in the job."""

    name: str
    count: int
    frame: Frame
    outline: tuple[Point, ...]
    edges: tuple[Edge, ...]
    posts: tuple[Post, ...]
    start: int
    way_out: int | None = None

    @property
    def leaving(self) -> tuple[float, float]:
        """The direction in which the crew leaves, of length 1: square to the way out, else straight off the start."""
        if self.way_out is None:
            return 0.0, 1.0
        (x0, y0), (x1, y1) = self.outline[self.way_out], self.outline[(self.way_out + 1) % len(self.outline)]
        size = math.hypot(x1 - x0, y1 - y0)
        return (y1 - y0) / size, (x0 - x1) / size


def sited(area: Area) -> Site:
    """The area seen along its start edge."""
    here = area.corners[area.start]
    there = area.corners[(area.start + 1) % len(area.corners)]
    turn = math.atan2(there[1] - here[1], there[0] - here[0])
    cos, sin = math.cos(turn), math.sin(turn)

    def seen(point: Point) -> Point:
        x, y = point[0] - here[0], point[1] - here[1]
        return round(x * cos + y * sin), round(y * cos - x * sin)

    posts = tuple(replace(post, outline=tuple(map(seen, post.outline))) for post in area.posts)
    return Site(
        name=area.name,
        count=area.count,
        frame=Frame(origin=here, turn=math.degrees(turn)),
        outline=tuple(map(seen, area.corners)),
        edges=area.edges,
        posts=posts,
        start=area.start,
        way_out=area.way_out,
    )
