"""The order of the saw cuts on one tile: a tree of straight through-cuts, then the notches."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.cut.records import Place, SawCut, SawTree
from cutopt.geometry import (
    NEAR,
    FloatPoint,
    Rail,
    Ring,
    area2,
    chord,
    clipped,
    extent,
    polygon,
    polygons,
    snapped,
)
from cutopt.job.records import Cutting, SawName
from cutopt.lay.records import Side
from cutopt.rules import Rules
from cutopt.tile import Point, Tile

LEAST_AT_FENCE = 20 * 320  # ticks: waste narrower than this is not run between fence and blade


@dataclass(frozen=True, kw_only=True, slots=True)
class Saws:
    """The saws at hand, their kerfs in ticks, and how wide the table saw's fence opens."""

    tile: Tile
    rules: Rules
    cutting: Cutting

    @property
    def straight_kerf(self) -> int:
        """The widest kerf of the saws that cut straight through."""
        straight = [self.cutting.kerf[s] for s in self.cutting.saws if s != "jigsaw"]
        return max(straight, default=max(self.cutting.kerf[s] for s in self.cutting.saws))

    def straight(self, square: bool) -> SawName:
        """The saw for a through-cut: the table saw where a factory edge can run along its fence."""
        order: tuple[SawName, ...] = ("table_saw", "guided_saw", "jigsaw") if square else ("guided_saw", "jigsaw")
        return next((saw for saw in order if saw in self.cutting.saws), self.cutting.saws[0])

    def inner(self) -> SawName:
        """The saw for notches."""
        return "jigsaw" if "jigsaw" in self.cutting.saws else self.cutting.saws[-1]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Part:
    number: int
    ring: list[FloatPoint]
    places: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Line:
    """A through-cut that a part still needs, with the places left and right of its kerf."""

    place: int
    path: tuple[Point, Point]
    left: tuple[int, ...]
    right: tuple[int, ...]
    waste: float
    fenced: bool


def saw_tree(places: Sequence[Place], outline: Ring, saws: Saws) -> SawTree | None:
    """Cut a source of the given ring into the places, None where no order of straight cuts separates them."""
    parts = [_Part(number=0, ring=list(outline), places=tuple(range(len(places))))]
    cuts: list[SawCut] = []
    finished: dict[int, int] = {}
    rests: list[tuple[int, Ring]] = []
    count = 0
    while parts:
        part = parts.pop(0)
        if not part.places:
            rests.append((part.number, snapped(part.ring)))
            continue
        line = _next_line(part, places, saws)
        if line is None:
            if len(part.places) > 1:
                return None
            done = _notched(part, places, saws, count)
            cuts += done.cuts
            count += 2 * len(done.cuts)
            rests += done.rests
            finished[part.places[0]] = done.number
            continue
        cut, new = _sawn(part, line, saws, count)
        count += 2
        cuts.append(cut)
        parts = new + parts
    return SawTree(cuts=tuple(cuts), finished=tuple(finished[i] for i in range(len(places))), rests=tuple(rests))


def _next_line(part: _Part, places: Sequence[Place], saws: Saws) -> _Line | None:
    """The best through-cut: one that parts pieces before one that takes waste off, along a fence, most waste first."""
    found: list[_Line] = []
    kerf = saws.straight_kerf
    for number in part.places:
        for path in places[number].shape.chords:
            rail = Rail(a=path[0], b=path[1], slack=0)
            waste = -min(rail.distance(p) for p in part.ring)
            if waste < NEAR:
                continue
            left = tuple(i for i in part.places if _side(places[i], rail) >= -NEAR)
            right = tuple(i for i in part.places if _side(places[i], rail, far=True) <= NEAR - kerf)
            if len(left) + len(right) == len(part.places):
                fenced = _fence(part, path, saws) is not None
                found.append(_Line(place=number, path=path, left=left, right=right, waste=waste, fenced=fenced))
    return min(found, key=lambda f: (not f.right, not f.fenced, len(f.left) > 1, -f.waste, f.path), default=None)


def _side(place: Place, rail: Rail, *, far: bool = False) -> float:
    """The least (or, far, the most) signed distance of a place's corners from the rail."""
    distances = [rail.distance(p) for p in place.shape.outline]
    return max(distances) if far else min(distances)


def _sawn(part: _Part, line: _Line, saws: Saws, count: int) -> tuple[SawCut, list[_Part]]:
    """Make the cut: the parts left and right of its kerf."""
    rail = Rail(a=line.path[0], b=line.path[1], slack=0)
    fence = _fence(part, line.path, saws)
    saw = saws.straight(fence is not None)
    if saw != "table_saw":
        fence = None
    kerf = saws.cutting.kerf[saw]
    left = _Part(number=count + 1, ring=clipped(part.ring, rail), places=line.left)
    away = clipped(part.ring, Rail(a=line.path[1], b=line.path[0], slack=0).slid(kerf))
    rest = snapped(away)
    thick = len(rest) > 2 and area2(rest) > 0
    right = _Part(number=count + 2, ring=away, places=line.right) if thick else None
    ends = chord(part.ring, rail) or line.path
    cut = SawCut(
        part=part.number,
        left=left.number,
        right=right.number if right else None,
        place=line.place,
        saw=saw,
        kerf=kerf,
        path=tuple((round(p[0]), round(p[1])) for p in ends),
        fence=(fence[0] if fence[2] else fence[0] - kerf) if fence else None,
        datum=fence[1] if fence else None,
        size=_size(part, fence[1]) if fence else None,
        kept_at_fence=fence[2] if fence else True,
    )
    return cut, [left, right] if right else [left]


def _size(part: _Part, side: Side) -> int:
    """The part's extent square to a side."""
    u0, v0, u1, v1 = extent(part.ring)
    return round(u1 - u0 if side[0] == "u" else v1 - v0)


def _fence(part: _Part, path: tuple[Point, Point], saws: Saws) -> tuple[int, Side, bool] | None:
    """Distance and factory side for the table saw's fence: on the kept side if it can be, within the fence's reach."""
    (u0, v0), (u1, v1) = path
    axis = 0 if u0 == u1 else 1 if v0 == v1 else None
    if axis is None:
        return None
    at = path[0][axis]
    kept_low = (v1 > v0) if axis == 0 else (u1 < u0)
    size = (saws.tile.length, saws.tile.width)[axis]
    lows: tuple[Side, Side] = ("u0", "u1") if axis == 0 else ("v0", "v1")
    options = [(at, lows[0], kept_low, 0), (size - at, lows[1], not kept_low, size)]
    for distance, side, kept, where in sorted(options, key=lambda o: not o[2]):
        if not kept and distance < LEAST_AT_FENCE:
            continue
        edge = [p[1 - axis] for p in part.ring if abs(p[axis] - where) < NEAR]
        contact = max(edge) - min(edge) if len(edge) > 1 else 0.0
        # common practice: a part whose edge on the fence is shorter than the fence is far would twist into the blade
        lone = saws.cutting.saws == ("table_saw",)
        if contact >= (1 if lone else max(distance, 1)) - NEAR and distance <= saws.rules.widest_rip:
            return distance, side, kept
    return None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Notched:
    number: int
    cuts: list[SawCut]
    rests: list[tuple[int, Ring]]


def _notched(part: _Part, places: Sequence[Place], saws: Saws, count: int) -> _Notched:
    """Cut the notches of the single place in a part."""
    place = part.places[0]
    number, ring = part.number, polygon(part.ring)
    cuts: list[SawCut] = []
    rests: list[tuple[int, Ring]] = []
    saw = saws.inner()
    kerf = saws.cutting.kerf[saw]
    for notch in places[place].shape.notches:
        path = notch.path
        bite: list[FloatPoint] = list(part.ring)
        waste: list[FloatPoint] = list(part.ring)
        for a, b in itertools.pairwise(path):
            bite = clipped(bite, Rail(a=b, b=a, slack=0))
            waste = clipped(waste, Rail(a=b, b=a, slack=0).slid(kerf))
        ring = ring.difference(polygon(bite))
        rest = snapped(waste)
        thick = len(rest) > 2 and area2(rest) > 0
        left, right = count + 2 * len(cuts) + 1, count + 2 * len(cuts) + 2
        cuts.append(
            SawCut(
                part=number,
                left=left,
                right=right if thick else None,
                place=place,
                saw=saw,
                kerf=kerf,
                path=path,
                fence=None,
                datum=None,
                size=None,
                kept_at_fence=True,
            )
        )
        if thick:
            rests.append((right, rest))
        number, ring = left, polygons(ring)[0]
    return _Notched(number=number, cuts=cuts, rests=rests)
