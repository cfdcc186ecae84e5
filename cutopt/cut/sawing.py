"""The order of the saw cuts on one tile: a tree of straight through-cuts, then the notches, then what is cut out of
the waste of a notch.

Where it is known how the tile lies at the saw (`Hold`), nothing loose runs between fence and blade: the other part
does, or the guided saw cuts with the part clamped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from cutopt.cut.holding import Hold
from cutopt.cut.notching import bite, prepared, strip
from cutopt.cut.records import Place, SawCut, SawTree
from cutopt.cut.saws import Saws, Way, way_of
from cutopt.cut.within import block_of
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
    ring_of,
    snapped,
)
from cutopt.lay.records import Notch, Side
from cutopt.tile import Point, Tile

__all__ = ["Saws", "saw_tree"]

MOST_ORDERS = 40  # orders of the cuts tried where the usual one would saw something loose


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
    way: Way


@dataclass(frozen=True, kw_only=True, slots=True)
class _Order:
    """A tree, which of the lines was taken at each turn, and how many there were to take."""

    tree: SawTree
    taken: tuple[int, ...]
    of: tuple[int, ...]

    @property
    def risk(self) -> int:
        """Slats sawn that nothing holds, and loose wood at the fence."""
        return sum(len(cut.loose) + cut.loose_at_fence for cut in self.tree.cuts)


def saw_tree(places: Sequence[Place], outline: Ring, saws: Saws, hold: Hold | None = None) -> SawTree | None:
    """Cut a source of the given ring into the places, None where no order of straight cuts by the saws at hand does.

    `hold`: how the source lies at the saw. Without it all is taken to be held; with it other orders are tried where
    the usual one would saw something loose.
    """
    bench = _Bench(places=places, outline=outline, saws=saws, hold=hold)
    best = bench.order(())
    waiting = [best] if best and best.risk else []
    tried = 1
    while waiting and best and best.risk and tried < MOST_ORDERS:
        known = waiting.pop(0)
        for turn in range(len(known.taken), len(known.of)):
            for pick in range(1, known.of[turn]):
                other = bench.order((*known.taken, *[0] * (turn - len(known.taken)), pick))
                tried += 1
                if other is not None:
                    waiting.append(other)
                    best = min(best, other, key=lambda order: order.risk)
    return best.tree if best else None


@dataclass(frozen=True, kw_only=True)
class _Bench:
    """A source to be sawn into places."""

    places: Sequence[Place]
    outline: Ring
    saws: Saws
    hold: Hold | None

    def order(self, taken: tuple[int, ...]) -> _Order | None:
        """The cuts where the lines numbered `taken` are made at the first turns, and the best one at every other."""
        parts = [_Part(number=0, ring=list(self.outline), places=tuple(range(len(self.places))))]
        cuts: list[SawCut] = []
        finished: dict[int, int] = {}
        rests: list[tuple[int, Ring]] = []
        of: list[int] = []
        count = 0
        while parts:
            part = parts.pop(0)
            if not part.places:
                rests.append((part.number, snapped(part.ring)))
                continue
            lines = _lines(part, self.places, self.saws, self.hold)
            if lines:
                pick = taken[len(of)] if len(of) < len(taken) else 0
                of.append(len(lines))
                cut, new = _sawn(part, lines[pick], self.saws, count)
                count += 2
                cuts.append(cut)
                parts = new + parts
                continue
            done = self._finished(part, count)
            if done is None:
                return None
            cuts += done.cuts
            count += 2 * len(done.cuts)
            rests += done.rests
            parts = done.parts + parts
            finished[done.place] = done.number
        ordered = tuple(finished[i] for i in range(len(self.places)))
        tree = SawTree(cuts=tuple(cuts), finished=ordered, rests=tuple(rests))
        return _Order(tree=tree, taken=taken, of=tuple(of))

    def _finished(self, part: _Part, count: int) -> _Notched | None:
        """The notches of the place that is left in a part, all others in their waste; None where that is not so."""
        for place in part.places:
            if _unsawn(part, self.places[place]):
                continue
            done = _notched(part, place, self.places, self.saws, count, self.hold)
            if len(part.places) == 1 or sum(len(block.places) for block in done.parts) == len(part.places) - 1:
                return done
        return None


def _lines(part: _Part, places: Sequence[Place], saws: Saws, hold: Hold | None) -> list[_Line]:
    """The through-cuts that can be made, the best first: nothing loose, one that parts pieces before one that takes
    waste off, along a fence, most waste first.
    """
    found: list[_Line] = []
    kerf = saws.cutting.straight_kerf
    for number in part.places:
        for path in places[number].shape.chords:
            rail = Rail(a=path[0], b=path[1], slack=0)
            waste = -min(rail.distances(part.ring))
            if waste < NEAR:
                continue
            away = [(i, rail.distances(places[i].shape.outline)) for i in part.places]
            left = tuple(i for i, corners in away if min(corners) >= -NEAR)
            right = tuple(i for i, corners in away if max(corners) <= NEAR - kerf)
            if len(left) + len(right) == len(part.places):
                way = way_of(part.ring, path, saws, hold)
                if way is not None:
                    found.append(_Line(place=number, path=path, left=left, right=right, waste=waste, way=way))
    return sorted(
        found, key=lambda f: (f.way.risk, not f.right, f.way.fence is None, len(f.left) > 1, -f.waste, f.path)
    )


def _unsawn(part: _Part, place: Place) -> bool:
    """Whether a through-cut of one of the part's places is still to be made."""
    rails = (Rail(a=a, b=b, slack=0) for a, b in place.shape.chords)
    return any(-min(rail.distances(part.ring)) >= NEAR for rail in rails)


def _sawn(part: _Part, line: _Line, saws: Saws, count: int) -> tuple[SawCut, list[_Part]]:
    """Make the cut: the parts left and right of its kerf."""
    rail, fence, saw = Rail(a=line.path[0], b=line.path[1], slack=0), line.way.fence, line.way.saw
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
        fence=None if fence is None else fence.distance - (0 if fence.kept else kerf),
        datum=fence.side if fence else None,
        size=_size(part, fence.side, saws.tile) if fence else None,
        kept_at_fence=fence.kept if fence else True,
        loose=line.way.loose,
        loose_at_fence=line.way.at_fence,
    )
    return cut, [left, right] if right else [left]


def _size(part: _Part, side: Side, tile: Tile) -> int:
    """The part's extent from a factory side."""
    u0, v0, u1, v1 = extent(part.ring)
    return round({"u0": u1, "v0": v1, "u1": tile.length - u0, "v1": tile.width - v0}[side])


@dataclass(frozen=True, kw_only=True, slots=True)
class _Notched:
    """A place with its notches cut, the part that it ends as, what is left over, and the waste that holds others."""

    place: int
    number: int
    cuts: list[SawCut]
    rests: list[tuple[int, Ring]]
    parts: list[_Part]


def _notched(part: _Part, place: int, places: Sequence[Place], saws: Saws, count: int, hold: Hold | None) -> _Notched:
    """Cut the notches of a place in a part that is sawn to its lines: those from its edge, then those all round."""
    done = _Notched(place=place, number=part.number, cuts=[], rests=[], parts=[])
    wood, number = polygon(part.ring), part.number
    kerf = saws.cutting.kerf[saws.inner()]
    for notch in sorted(places[place].shape.notches, key=lambda notch: notch.closed):
        gone, way = bite(wood, notch), strip(wood, notch, kerf)
        if gone.is_empty:
            continue
        waste = polygons(gone.difference(way))
        ring = ring_of(max(waste, key=lambda p: p.area)) if waste else ()
        thick = len(ring) > 2
        left, right = count + 2 * len(done.cuts) + 1, count + 2 * len(done.cuts) + 2
        loose = hold.loose(wood, way.intersection(gone)) if hold else ()
        done.cuts.append(_notch_cut(notch, saws, (number, left, right if thick else None), place, loose))
        inside = _inside(wood, notch, [n for n in part.places if n != place], places, saws)
        if inside:
            done.parts.append(_Part(number=right, ring=list(ring), places=inside))
        elif thick:
            done.rests.append((right, ring))
        kept = polygons(wood.difference(gone))
        number, wood = left, max(kept, key=lambda p: p.area) if kept else wood
    return replace(done, number=number)


def _inside(
    wood: shapely.Polygon, notch: Notch, others: Sequence[int], places: Sequence[Place], saws: Saws
) -> tuple[int, ...]:
    """Which of other places lie in what the notch takes out of the wood whole."""
    block = block_of(wood, notch, saws.widest) if others else None
    if block is None:
        return ()
    room = polygon(block).buffer(NEAR)
    return tuple(n for n in others if room.covers(polygon(places[n].shape.outline)))


def _notch_cut(
    notch: Notch, saws: Saws, numbers: tuple[int, int, int | None], place: int, loose: tuple[int, ...]
) -> SawCut:
    """The cut of a notch; `numbers` of the part and of what lies left and right of the path."""
    saw = saws.inner()
    long = prepared(notch, saws.rules.jigsaw_reach, saws.rules.overcut)
    return SawCut(
        part=numbers[0],
        left=numbers[1],
        right=numbers[2],
        place=place,
        saw=saw,
        kerf=saws.cutting.kerf[saw],
        path=notch.path,
        fence=None,
        datum=None,
        size=None,
        kept_at_fence=True,
        closed=notch.closed,
        centre=notch.centre,
        radius=notch.radius,
        prepared=long if "guided_saw" in saws.cutting.saws else (),
        loose=loose,
    )
