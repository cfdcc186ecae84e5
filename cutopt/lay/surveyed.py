"""An area ready to be laid, and its cells before they are filled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import overload

import numpy as np
import shapely

from cutopt.job.records import PHASES, Job, Slats
from cutopt.lay.ground import Brink, Ground, Upright, ground_of
from cutopt.lay.holed import Holed
from cutopt.lay.known import Known
from cutopt.lay.marks import Bench
from cutopt.lay.records import Way, to_layout, to_tile
from cutopt.site import Site
from cutopt.tile import Point

TRACT = 16  # cells: how wide a tract is


@dataclass(frozen=True, kw_only=True, slots=True)
class Tract:
    """A square of ground with some more all round: what there is by its cells, so that what is far off costs nothing.

    `allowed`, `needed` and `unrounded` as in `Ground`, without holes that are far off. `lines`: of each brink its
    normal's parts and its distance from the origin.
    """

    allowed: shapely.Geometry
    needed: shapely.Geometry
    unrounded: shapely.Geometry
    brinks: tuple[Brink, ...]
    lines: np.ndarray
    uprights: tuple[Upright, ...]


@dataclass(frozen=True, kw_only=True)
class Surveyed:
    """A site with its ground and the job's laying rules: all that grid starts of one area share."""

    index: int
    site: Site
    job: Job
    known: dict[tuple[Point, Point], Known[Way]] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def ground(self) -> Ground:
        """Where wood may and must lie."""
        return ground_of(self.site, self.job)

    @cached_property
    def bench(self) -> Bench:
        """How pieces are marked."""
        return Bench(tile=self.job.tile, mark=self.job.mark, rules=self.job.rules)

    @cached_property
    def _all_brinks(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Of each brink its normal's parts and its distance from the origin; and its ends' least x and y and most."""
        brinks = self.ground.brinks
        ends = np.array([(brink.a, brink.b) for brink in brinks], dtype=float).reshape(-1, 2, 2)
        lines = [(n[0], n[1], brink.a[0] * n[0] + brink.a[1] * n[1]) for brink in brinks for n in [brink.normal]]
        return np.array(lines, dtype=float).reshape(-1, 3), ends.min(axis=1), ends.max(axis=1)

    def brinks_by(self, spot: Spot) -> list[Brink]:
        """The brinks whose lines pass through a cell or close by."""
        (x, y), (sx, sy) = spot.corner, self.cell_size
        tract = self.tract_of(spot)
        nx, ny, off = tract.lines.T
        near = np.abs(nx * (x + sx / 2) + ny * (y + sy / 2) - off) < sx + sy
        return [tract.brinks[number] for number in np.flatnonzero(near).tolist()]

    @cached_property
    def _regions(self) -> tuple[Holed, Holed, Holed]:
        return Holed(self.ground.allowed), Holed(self.ground.needed), Holed(self.ground.unrounded)

    @cached_property
    def _tracts(self) -> dict[Point, Tract]:
        return {}

    def tract_of(self, spot: Spot) -> Tract:
        """The tract of ground that a cell lies in. Worked out when asked for, and then remembered."""
        size = TRACT * max(self.cell_size)
        key = (spot.corner[0] // size, spot.corner[1] // size)
        found = self._tracts.get(key)
        if found is None:
            reach = sum(self.cell_size)
            low = (key[0] * size - reach, key[1] * size - reach)
            found = self._tracts[key] = self._tract(low, (low[0] + size + 3 * reach, low[1] + size + 3 * reach))
        return found

    def _tract(self, low: Point, high: Point) -> Tract:
        lines, least, most = self._all_brinks
        near = ((least <= high) & (most >= low)).all(axis=1)
        bounds = self._upright_bounds
        by = ((bounds[:, :2] <= high) & (bounds[:, 2:] >= low)).all(axis=1)
        allowed, needed, unrounded = (region.near(low, high) for region in self._regions)
        return Tract(
            allowed=allowed,
            needed=needed,
            unrounded=unrounded,
            brinks=tuple(self.ground.brinks[number] for number in np.flatnonzero(near).tolist()),
            lines=lines[near],
            uprights=tuple(self.ground.uprights[number] for number in np.flatnonzero(by).tolist()),
        )

    @cached_property
    def round_corners(self) -> shapely.Geometry:
        """What is to be covered beside round posts, but for the square notches that are cut around them."""
        return self.ground.wanted.difference(self.ground.needed)

    @cached_property
    def _upright_bounds(self) -> np.ndarray:
        """Of each upright with its gap the least x and y and the most."""
        uprights = self.ground.uprights
        gaps = np.array([one.gap[1] for one in uprights], dtype=float)[:, None]
        outlines = np.array([one.outline for one in uprights], dtype=object)
        bounds: np.ndarray = shapely.bounds(outlines).reshape(-1, 4) + gaps * (-1, -1, 1, 1)
        return bounds

    def uprights_by(self, spot: Spot) -> list[Upright]:
        """The posts and the like whose gap reaches into a cell."""
        return [one for one in self.tract_of(spot).uprights if one.outline.distance(spot.box) <= one.gap[1]]

    @cached_property
    def _standing(self) -> tuple[list[shapely.Polygon], shapely.STRtree]:
        """The posts as they are, without gaps, and the tree that finds them."""
        posts = [shapely.Polygon(post.outline) for post in self.site.posts if post.kind == "post"]
        return posts, shapely.STRtree(posts)

    def posts_in(self, origin: Point, cells: Sequence[Point]) -> list[tuple[int, int]]:
        """The pairs of cells, by number in a list of rows and columns, and posts whose extents meet, by number."""
        if not cells:
            return []
        (px, py), (sx, sy), at = self.pitch, self.cell_size, np.array(cells, dtype=float)
        x, y = origin[0] + at[:, 1] * px, origin[1] + at[:, 0] * py
        pairs: list[tuple[int, int]] = self._standing[1].query(shapely.box(x, y, x + sx, y + sy)).T.tolist()
        return pairs

    def posts_near(self, shape: shapely.Geometry) -> list[shapely.Polygon]:
        """The posts as they are whose extents meet that of a shape, layout frame."""
        posts, tree = self._standing
        return [posts[number] for number in sorted(tree.query(shape).tolist())]

    @cached_property
    def variants(self) -> tuple[Surveyed, ...]:
        """The area with its slats' direction and its pattern's phase settled, in each way that the job leaves open.

        The first is along the start wall, and at phase 0.
        """
        laying = self.job.laying
        ways: list[Slats] = ["along", "across"] if laying.slats == "either" else [laying.slats]
        phases: Sequence[int] = range(PHASES[laying.pattern]) if laying.phase == "any" else [laying.phase]
        return tuple(
            replace(self, job=replace(self.job, laying=replace(laying, slats=slats, phase=phase)), known={})
            for slats in ways
            for phase in phases
        )

    @property
    def all_turned(self) -> bool:
        """Whether the slats of tiles that the pattern does not turn run across the start wall."""
        return self.job.laying.slats == "across"

    @property
    def cell_size(self) -> Point:
        """A cell's tile along x and y. A turned rectangular tile turns the grid with it."""
        tile = self.job.tile
        return (tile.width, tile.length) if self.all_turned else (tile.length, tile.width)

    @property
    def pitch(self) -> Point:
        """The grid's pitch along x and y."""
        pitch = self.job.laying.pitch
        return (pitch[1], pitch[0]) if self.all_turned else pitch

    @property
    def strip(self) -> int:
        """The widest strip between pieces that counts as covered: a joint and the pins' play in their holes, ticks."""
        tile = self.job.tile
        play = min((hole.diameter for hole in tile.pin_holes), default=0) - tile.support.pin
        return self.job.laying.joint + max(play, 0)

    @overload
    def turned(self, row: int, col: int) -> bool: ...

    @overload
    def turned(self, row: np.ndarray, col: np.ndarray) -> np.ndarray: ...

    def turned(self, row: int | np.ndarray, col: int | np.ndarray) -> bool | np.ndarray:
        """Whether the pattern turns a cell by a quarter; of many at once where these are arrays."""
        laying = self.job.laying
        size = PHASES[laying.pattern]
        here = (row + col + (0 if laying.phase == "any" else laying.phase)) % size
        return ((size > 1) & (here == size - 1)) != self.all_turned


@dataclass(frozen=True, kw_only=True, slots=True)
class Spot:
    """A cell before it is filled: its corner, its rectangle in the layout frame and whether it is turned.

    `width` is the tile's. `local` and `abroad` take shapes into the cell's tile frame and back.
    """

    row: int
    col: int
    corner: Point
    box: shapely.Polygon
    quarter_turn: bool
    width: int

    def local(self, shape: shapely.Geometry) -> shapely.Geometry:
        """A shape of the layout frame, or an array of them, in the cell's tile frame."""

        def seen(points: np.ndarray) -> np.ndarray:
            (x, y), at = self.corner, points
            u, v = at[:, 0] - x, at[:, 1] - y
            return np.column_stack((v, self.width - u) if self.quarter_turn else (u, v))

        return shapely.transform(shape, seen)

    def local_brink(self, brink: Brink) -> Brink:
        """A brink of the layout frame in the cell's tile frame."""
        a, b = (to_tile(p, self.corner, self.quarter_turn, self.width) for p in (brink.a, brink.b))
        return Brink(a=a, b=b, slack=brink.slack, least=brink.least)

    def abroad(self, point: Point) -> Point:
        """A point of the cell's tile frame in the layout frame."""
        return to_layout(point, self.corner, self.quarter_turn, self.width)
