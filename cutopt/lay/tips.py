"""Tips: where an oblique cut runs a slat out to less than a screw takes, the slat ends square before that.

wall      ╲  .  .  .  .  .            a tip is cut off at a mark where the slat is still wide enough that a screw within
           ╲___                       reach of its end finds wood; along the slats the cut runs on in the gap to the
slat 3  #######╎ ╲  <- tip            next slat, and each tip is a notch of its own
           ----+──╲──────
slat 2  ###########╲
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import shapely

from cutopt.geometry import NEAR, FloatPoint, area2, polygon, polygons
from cutopt.lay.marking import beyond, bounding
from cutopt.lay.marks import Unmarked, mark_between, slat_gaps
from cutopt.lay.notches import carved, stretches
from cutopt.lay.records import Notch, Shape
from cutopt.lay.surveyed import Surveyed
from cutopt.rules import Rules
from cutopt.tile import Tile

SPARES = (2 * 320, 12 * 320)  # ticks of width more than a screw needs: that may be just not enough for old screw holes
STEEPEST = 1.0  # of a cut by its rise along the slats: a steeper one has no tips worth a word
Band = tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Tip:
    """A slat's end at an oblique edge: the edge from `wide` to `thin`, and the side of the slat that stays whole.

    `rise` is how much of the width is lost along the slat, `up` whether the whole side is the slat's low one.
    """

    wide: FloatPoint
    thin: FloatPoint
    band: Band
    up: bool

    @property
    def rise(self) -> float:
        """Width lost by length."""
        return abs(self.thin[1] - self.wide[1]) / abs(self.thin[0] - self.wide[0])

    @property
    def way(self) -> int:
        """Whether the tip points along u (1) or against it (-1)."""
        return 1 if self.thin[0] > self.wide[0] else -1

    @property
    def height(self) -> int:
        """The whole slat's width."""
        return self.band[1] - self.band[0]

    def width(self, point: FloatPoint) -> float:
        """The slat's width at one end of the edge, ticks."""
        return point[1] - self.band[0] if self.up else self.band[1] - point[1]


def untipped(shape: Shape, area: Surveyed) -> Iterator[Shape]:
    """The shape with its slats ended square where they run out too thin: just enough of them, then more."""
    if shape.holes:
        return
    for spare in SPARES:
        rest = shape
        for band in sorted(slat.v for slat in area.job.tile.slats):
            for tip in _tips(rest, band):
                try:
                    rest = _shortened(rest, tip, spare, area)
                except Unmarked:
                    continue
        if rest is not shape:
            yield rest


def _tips(shape: Shape, band: Band) -> Iterator[_Tip]:
    """The tips of a slat."""
    us = [u for u, _ in shape.outline]
    strip = shapely.box(min(us) - 1, band[0], max(us) + 1, band[1])
    for part in polygons(polygon(shape.outline).intersection(strip)):
        ring = list(shapely.geometry.polygon.orient(part, 1.0).exterior.coords)
        for a, b in pairwise(ring):
            du, dv = b[0] - a[0], b[1] - a[1]
            if abs(dv) < NEAR or abs(dv) > STEEPEST * abs(du):
                continue
            up = du < 0  # anticlockwise: an edge that runs against u has the wood below it
            one, other = (a, b) if (a[1] > b[1]) == up else (b, a)
            yield _Tip(wide=one, thin=other, band=band, up=up)


def _needed(rise: float, spare: int, tile: Tile, rules: Rules) -> float:
    """The least width at a slat's square end so that a backer that the end may reach past can be screwed to it, ticks.

    A screw on the backer's centre line keeps its distances from the slat's edge and the cut, and from the backer's end,
    which is cut where the outer one of its edges meets the oblique cut.
    """
    edge, reach = rules.screw_edge * tile.screw_diameter, rules.longest_overhang
    ripped = math.atan(rise) <= math.radians(rules.end_grain_angle)
    sawn = (edge if ripped else rules.screw_end * tile.screw_diameter) * math.hypot(1, rise)
    at_screw = max(edge + sawn, rules.fragment_least) - rise * (reach + min(b.width for b in tile.backers) / 2)
    at_edge = edge + rules.kept_screw_edge - rise * reach
    return max(at_screw, at_edge) + spare


def _shortened(shape: Shape, tip: _Tip, spare: int, area: Surveyed) -> Shape:
    """The shape without a tip; itself where the tip is wide enough. Raises `Unmarked` where no marks let it."""
    tile = area.job.tile
    least = _needed(tip.rise, spare, tile, area.job.rules)
    if tip.width(tip.thin) >= least:
        return shape
    if tip.width(tip.wide) < least:
        raise Unmarked("fragment_least", "narrow all along")  # the slat goes, not only its tip
    along = tip.wide[0] + tip.way * (tip.width(tip.wide) - least) / tip.rise
    mark, size = area.job.mark, tile.length
    steps = math.floor((along if tip.way > 0 else size - along) / mark)
    at = steps * mark if tip.way > 0 else size - steps * mark
    base, far = _base(tip, area), sum(area.cell_size)
    if base is None:
        rest = beyond(shape, ((at, 0), (at, tile.width)) if tip.way > 0 else ((at, tile.width), (at, 0)))
    else:
        corners = [(at + tip.way * far, base), (at, base), (at, base + far if tip.up else base - far)]
        rest = _notched(shape, shapely.LineString(corners if (tip.way > 0) == tip.up else corners[::-1]))
    if rest is None or area2(shape.outline) - area2(rest.outline) > 4 * abs(tip.thin[0] - tip.wide[0]) * tip.height:
        raise Unmarked("mark", "the cut would take more than a tip off")
    return rest


def _base(tip: _Tip, area: Surveyed) -> int | None:
    """Where the cut runs along the slat's whole side: on a mark in the gap beside it, None where no slat is beside it.

    Raises `Unmarked`.
    """
    gap = next((gap for gap in slat_gaps(area.job.tile) if gap[tip.up] == tip.band[not tip.up]), None)
    if gap is None:
        return None
    mark = mark_between(*gap, area.bench, from_low=tip.up)  # measured on the kept side
    if mark is None:
        raise Unmarked("mark", "no mark lies in the gap between two slats")
    return mark


def _notched(shape: Shape, line: shapely.LineString) -> Shape | None:
    """The shape without what lies to the right of a line through it, None where that is not one notch."""
    piece = polygon(shape.outline)
    paths = list(stretches(line, piece))
    if len(paths) != 1:
        return None
    outline = carved(paths[0], piece)
    if not polygon(outline).is_valid:
        return None
    notches = (*shape.notches, Notch(path=paths[0]))
    return Shape(outline=outline, chords=bounding(shape.chords, outline), notches=notches)
