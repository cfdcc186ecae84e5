"""Plots: the connected parts of a cell that pieces may fill, in its tile frame."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely

from cutopt.geometry import NEAR, FloatPoint, Rail, polygons
from cutopt.lay.convex import holds, plain_ring, roomy, steps
from cutopt.lay.ground import Brink, Upright, post_brinks
from cutopt.lay.records import Chord
from cutopt.lay.surveyed import Spot, Surveyed


@dataclass(frozen=True, kw_only=True, slots=True)
class Plot:
    """A connected part of a cell that one piece may fill, in the cell's tile frame, ticks.

    `region` keeps the least gaps and `needed` must be covered; `base` is the region as if no round post stood there.
    `chords` are cuts that part it from its cell's other pieces; `uprights` the posts by it; `way_out` the way that a
    round notch is opened, where it is chosen beforehand.
    """

    spot: Spot
    region: shapely.Polygon
    needed: shapely.Geometry
    base: shapely.Polygon
    brinks: tuple[Brink, ...]
    uprights: tuple[Upright, ...]
    chords: tuple[Chord, ...] = ()
    way_out: FloatPoint | None = None

    @property
    def enclosed(self) -> list[shapely.Polygon]:
        """What stands inside the region and is not lifted over, each with its least gap around."""
        holes = [shapely.Polygon(ring) for ring in self.region.interiors]
        tall = [upright.outline for upright in self.uprights if not upright.low]
        return [hole for hole in sorted(holes, key=lambda h: h.bounds) if any(hole.intersects(x) for x in tall)]


def side_of(chord: Chord) -> Rail:
    """A chord as a line with its kept wood on the left."""
    return Rail(a=chord[0], b=chord[1], slack=0)


def kept_side(chord: Chord, reach: float) -> shapely.Polygon:
    """The rectangle on the kept side of a chord, as deep as `reach` ticks."""
    (nx, ny), (a, b) = side_of(chord).normal, chord
    return shapely.Polygon([a, b, (b[0] + nx * reach, b[1] + ny * reach), (a[0] + nx * reach, a[1] + ny * reach)])


def plots_of(spot: Spot, area: Surveyed) -> list[Plot]:
    """The connected parts of a cell that must be covered."""
    tract = area.tract_of(spot)
    parts = shapely.intersection([tract.allowed, tract.needed], spot.box)
    if parts[1].is_empty:
        return []
    brinks = tuple(spot.local_brink(brink) for brink in area.brinks_by(spot))
    uprights = tuple(replace(one, outline=spot.local(one.outline)) for one in area.uprights_by(spot))
    allowed, needed = spot.local(parts)
    rounded = bool(uprights) and area.ground.unrounded is not area.ground.allowed
    bases = polygons(shorn(spot.local(tract.unrounded.intersection(spot.box)))) if rounded else []
    plots = []
    for region in polygons(shorn(allowed)):
        must = within(needed, region)
        if polygons(must):
            base = max(bases, key=lambda b: b.intersection(region).area) if bases else region
            plots.append(Plot(spot=spot, region=region, needed=must, base=base, brinks=brinks, uprights=uprights))
    return plots


def covers(piece: shapely.Polygon, needed: shapely.Geometry) -> bool:
    """Whether a piece surely covers all that it must, give or take rounding; False also where that is not plain."""
    ring, inner = plain_ring(piece), plain_ring(needed)
    if ring is not None and inner is not None:
        return holds(ring, inner)
    return bool(steps(needed)) and bool(piece.covers(needed))


def within(needed: shapely.Geometry, region: shapely.Polygon) -> shapely.Geometry:
    """The part of what must be covered that lies in a region, give or take rounding."""
    if covers(region, needed):
        return needed
    return needed.intersection(region.buffer(NEAR))


def shorn(shape: shapely.Geometry) -> shapely.Geometry:
    """The region without hairs of rounding: spikes no wider than two ticks go, all other corners stay."""
    if roomy(shape, 2 * NEAR):
        return shape
    return shape.buffer(-1, join_style="mitre", mitre_limit=50).buffer(1, join_style="mitre", mitre_limit=50)


def squared(plot: Plot) -> Plot:
    """The plot with its round notches cut square, so that they can be led on to the gap between two slats."""
    rounds = [one for one in plot.uprights if one.round_cut and not one.low]
    if not rounds:
        return plot
    squares = [replace(one, outline=shapely.box(*one.outline.bounds), round_cut=False) for one in rounds]
    grown = shapely.union_all([one.grown(one.gap[0]) for one in squares])
    region = max(polygons(plot.region.difference(grown)), key=lambda r: r.area, default=plot.region)
    return replace(
        plot,
        region=region,
        base=max(polygons(plot.base.difference(grown)), key=lambda b: b.intersection(region).area, default=plot.base),
        needed=plot.needed.difference(shapely.union_all([one.grown(one.gap[1]) for one in squares])),
        brinks=(*plot.brinks, *(brink for one in squares for brink in post_brinks(one))),
        uprights=(*(one for one in plot.uprights if one not in rounds), *squares),
    )
