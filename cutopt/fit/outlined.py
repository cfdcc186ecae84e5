"""A piece by its outline alone: its edges, how far it reaches, what lies in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import shapely

from cutopt.fit.plane import Edge, edges_of
from cutopt.geometry import Ring, extent


@dataclass(frozen=True, kw_only=True)
class Outlined:
    """A piece as it lies on its source. `holes`: rings cut out of its inside, clockwise."""

    outline: Ring
    holes: tuple[Ring, ...] = ()

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The outline for shapely, prepared."""
        shape = shapely.Polygon(self.outline, self.holes)
        shapely.prepare(shape)
        return shape

    @cached_property
    def rectangular(self) -> bool:
        """Whether it is a rectangle along the slats, without holes."""
        return len(self.rim) == 4 and all(p[0] == q[0] or p[1] == q[1] for p, q in self.rim)

    @cached_property
    def rim(self) -> tuple[Edge, ...]:
        """All edges of the piece, those of its holes too, the wood on their left."""
        return (*edges_of(self.outline), *(edge for hole in self.holes for edge in edges_of(hole)))

    @cached_property
    def rising(self) -> list[tuple[int, int, int, int, float]]:
        """The rim's edges from their low end along the slats to the high one: both, and how steep they are across."""
        ends = [(*p, *q) if p[0] <= q[0] else (*q, *p) for p, q in self.rim]
        return [(ua, va, ub, vb, (vb - va) / (ub - ua) if ua < ub else math.inf) for ua, va, ub, vb in ends]

    @cached_property
    def extent(self) -> tuple[int, int, int, int]:
        """Least u, least v, most u, most v."""
        u0, v0, u1, v1 = extent(self.outline)
        return round(u0), round(v0), round(u1), round(v1)

    def holds(self, u: float, v: float) -> bool:
        """Whether a point lies in the piece."""
        inside = False
        for (ua, va), (ub, vb) in self.rim:
            if (va <= v) != (vb <= v) and ua + (ub - ua) * (v - va) / (vb - va) > u:
                inside = not inside
        return inside
