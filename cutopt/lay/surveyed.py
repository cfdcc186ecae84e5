"""An area ready to be laid, and its cells before they are filled."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely

from cutopt.job.records import Job
from cutopt.lay.ground import Brink, Ground, Upright, ground_of
from cutopt.lay.marks import Bench
from cutopt.lay.records import Way, to_layout, to_tile
from cutopt.site import Site
from cutopt.tile import Point


@dataclass(frozen=True, kw_only=True)
class Surveyed:
    """A site with its ground and the job's laying rules: all that grid starts of one area share."""

    index: int
    site: Site
    job: Job
    known: dict[tuple[Point, Point], tuple[Way, ...]] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def ground(self) -> Ground:
        """Where wood may and must lie."""
        return ground_of(self.site, self.job)

    @cached_property
    def bench(self) -> Bench:
        """How pieces are marked."""
        return Bench(tile=self.job.tile, mark=self.job.mark, rules=self.job.rules)

    @cached_property
    def _brink_lines(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Of each brink its normal's parts, and its distance from the origin."""
        brinks = self.ground.brinks
        normals = np.array([brink.normal for brink in brinks], dtype=float).reshape(-1, 2)
        off = np.array([brink.a[0] * n[0] + brink.a[1] * n[1] for brink, n in zip(brinks, normals, strict=True)])
        return normals[:, 0], normals[:, 1], off

    def brinks_by(self, spot: Spot) -> list[Brink]:
        """The brinks whose lines pass through a cell or close by."""
        (x, y), (sx, sy) = spot.corner, self.cell_size
        nx, ny, off = self._brink_lines
        near = np.abs(nx * (x + sx / 2) + ny * (y + sy / 2) - off) < sx + sy
        return [self.ground.brinks[number] for number in np.flatnonzero(near).tolist()]

    @cached_property
    def _upright_tree(self) -> shapely.STRtree:
        return shapely.STRtree([one.outline for one in self.ground.uprights])

    @cached_property
    def _upright_reach(self) -> int:
        return max((one.gap[1] for one in self.ground.uprights), default=0)

    def uprights_by(self, spot: Spot) -> list[Upright]:
        """The posts and the like whose gap reaches into a cell."""
        near = sorted(
            int(n) for n in self._upright_tree.query(spot.box, predicate="dwithin", distance=self._upright_reach)
        )
        found = [self.ground.uprights[number] for number in near]
        return [one for one in found if one.outline.distance(spot.box) <= one.gap[1]]

    @property
    def all_turned(self) -> bool:
        """Whether the slats of the first tile run across the start wall."""
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

    def turned(self, row: int, col: int) -> bool:
        """Whether the pattern turns this cell by a quarter."""
        pattern = self.job.laying.pattern
        odd = (pattern == "alternate" and (row + col) % 2 == 1) or (pattern == "two-and-one" and (row + col) % 3 == 2)
        return odd != self.all_turned


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
