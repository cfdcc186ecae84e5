"""Plots: the connected parts of a cell that pieces may fill, in its tile frame."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely

from cutopt.geometry import NEAR, FloatPoint, Rail, polygons
from cutopt.lay.ground import Brink, Upright, post_brinks
from cutopt.lay.records import Chord
from cutopt.lay.surveyed import Spot, Surveyed


@dataclass(frozen=True, kw_only=True, slots=True)
class Plot:
    """A connected part of a cell that one piece may fill, in the cell's tile frame, ticks.

    `region` keeps the least gaps and `needed` must be covered; `base` is the region as if no round post stood there,
    and `firm` the ground further from walls and posts than a dropped fragment may leave open. `chords` are cuts that
    part it from its cell's other pieces; `uprights` the posts by it; `way_out` the way that a round notch is opened,
    where it is chosen beforehand.
    """

    spot: Spot
    region: shapely.Polygon
    needed: shapely.Geometry
    base: shapely.Polygon
    firm: shapely.Geometry
    brinks: tuple[Brink, ...]
    uprights: tuple[Upright, ...]
    chords: tuple[Chord, ...] = ()
    way_out: FloatPoint | None = None

    @property
    def enclosed(self) -> list[shapely.Polygon]:
        """What stands inside the region and is not lifted over, each with its least gap around."""
        holes = [shapely.Polygon(ring) for ring in self.region.interiors]
        lows = [upright.outline for upright in self.uprights if upright.low]
        return [hole for hole in sorted(holes, key=lambda h: h.bounds) if not any(hole.contains(x) for x in lows)]


def side_of(chord: Chord) -> Rail:
    """A chord as a line with its kept wood on the left."""
    return Rail(a=chord[0], b=chord[1], slack=0)


def plots_of(spot: Spot, area: Surveyed) -> list[Plot]:
    """The connected parts of a cell that must be covered."""
    ground = area.ground
    near = [brink for brink in ground.brinks if _near(brink.distance(_middle(spot)), area)]
    brinks = tuple(spot.local_brink(brink) for brink in near)
    uprights = tuple(
        replace(one, outline=spot.local(one.outline))
        for one in ground.uprights
        if one.outline.distance(spot.box) <= one.gap[1]
    )
    needed = spot.local(ground.needed.intersection(spot.box))
    firm = spot.local(ground.firm.intersection(spot.box))
    bases = polygons(shorn(spot.local(ground.unrounded.intersection(spot.box)))) if uprights else []
    plots = []
    for region in polygons(shorn(spot.local(ground.allowed.intersection(spot.box)))):
        must = needed.intersection(region.buffer(NEAR))
        if polygons(must):
            base = max(bases, key=lambda b: b.intersection(region).area) if bases else region
            plots.append(
                Plot(spot=spot, region=region, needed=must, base=base, firm=firm, brinks=brinks, uprights=uprights)
            )
    return plots


def _middle(spot: Spot) -> tuple[float, float]:
    x0, y0, x1, y1 = spot.box.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def _near(distance: float, area: Surveyed) -> bool:
    """Whether a brink's line passes through or close by a cell."""
    return abs(distance) < sum(area.cell_size)


def shorn(shape: shapely.Geometry) -> shapely.Geometry:
    """The region without hairs of rounding: spikes no wider than two ticks go, all other corners stay."""
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
