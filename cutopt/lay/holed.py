"""Regions with many holes, seen from nearby: an overlay takes as long as all corners that it is given."""

from __future__ import annotations

import numpy as np
import shapely

from cutopt.tile import Point


class Holed:
    """A region whose holes are found by place."""

    def __init__(self, region: shapely.Geometry) -> None:
        self.region = region
        parts = shapely.get_parts(region)
        self._shells = shapely.get_exterior_ring(parts)
        rings, self._part = shapely.get_rings(parts, return_index=True)
        inner = np.diff(self._part, prepend=-1) == 0  # of each part the first ring is its shell
        self._holes, self._part = rings[inner], self._part[inner]
        self._low, self._high = np.split(shapely.bounds(self._holes).reshape(-1, 4), 2, axis=1)

    def near(self, low: Point, high: Point) -> shapely.Geometry:
        """The region without the holes that lie outside of an upright rectangle, given by its corners.

        What of it lies in the rectangle is the same as of the whole region.
        """
        close = ((self._low <= high) & (self._high >= low)).all(axis=1)
        if close.all():
            return self.region
        holes, part = self._holes[close], self._part[close]
        shells = enumerate(self._shells)
        found = [shapely.polygons(shell, holes[part == number]) for number, shell in shells]
        return found[0] if len(found) == 1 else shapely.multipolygons(found)
