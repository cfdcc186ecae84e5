"""Pads that would lie on one another are cut apart, so that every piece still stands on what is left.

margin  the pad that stays around a pin's centre
patch   what a foot's backer bears on
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import shapely

from cutopt.geometry import NEAR, polygons
from cutopt.hang.feet import Face, Foot, Party
from cutopt.rules import Rules

LAPPED = 320 * 320  # square ticks: pads that overlap less than this only touch
BETWEEN = 8  # where no plain cut does, lines are tried at every so manieth of what both pads claim

Pair = tuple[shapely.Geometry, shapely.Geometry]
Cost = tuple[float, float, float, int, int, float]


@dataclass(frozen=True, kw_only=True)
class Parting:
    """The pads of all parties while they are cut apart: each change is seen by the cuts that follow.

    `meat`: the pad that stays around a pin's centre, ticks: its radius and what is left beyond its rim.
    """

    parties: Sequence[Party]
    pads: list[shapely.Geometry]
    meat: int
    rules: Rules

    @cached_property
    def _feet_of(self) -> dict[int, list[tuple[int, Foot]]]:
        """The feet that a face stands on, each with the number of its party."""
        found: dict[int, list[tuple[int, Foot]]] = {}
        for n, party in enumerate(self.parties):
            for foot in party.feet:
                found.setdefault(id(foot.face), []).append((n, foot))
        return found

    def part(self) -> None:
        """Cut apart every two pads that would lie on one another, by one straight line where there is a good one."""
        tree = shapely.STRtree(self.pads)
        for i, pad in enumerate(list(self.pads)):
            for j in sorted(int(j) for j in tree.query(pad) if j > i):
                if self.pads[i].intersection(self.pads[j]).area > LAPPED:
                    self.pads[i], self.pads[j] = self._apart(i, j)

    def _apart(self, i: int, j: int) -> Pair:
        """The best cut between two pads: no pin loses its meat, no backer its bearing, no piece reaches too far past
        what it rests on, and few pads are cut.

        Best of all, the one with more pins stays as it is and the other yields.
        """
        one, other, pads = self.parties[i], self.parties[j], (self.pads[i], self.pads[j])
        cost, best = self._best(i, j, _cuts(one, other, pads))
        if any(cost[:3]):
            _, best = self._best(i, j, (best, *_lines(one, other, pads)))
        return best

    def _best(self, i: int, j: int, cuts: Iterable[Pair]) -> tuple[Cost, Pair]:
        return min(((self._cost(i, j, pair), pair) for pair in cuts), key=lambda found: found[0])

    def _cost(self, i: int, j: int, pair: Pair) -> Cost:
        both = list(zip((self.parties[i], self.parties[j]), pair, strict=True))
        thin = sum(max(0.0, self.meat - margin(party, pad)) for party, pad in both)
        bare = sum(max(0.0, self.rules.bearing_least - rest) for party, pad in both for rest in _rests(party, pad))
        lost = [self.pads[n].area - pad.area for n, pad in zip((i, j), pair, strict=True)]
        spoiled = sum(len(party.feet) for (party, _), gone in zip(both, lost, strict=True) if gone > LAPPED)
        crooked = sum(not square(pad) for pad in pair)
        past = self._past({i: pair[0], j: pair[1]})
        return _beyond(thin), _beyond(bare), _beyond(past), crooked, spoiled, sum(lost)

    def _past(self, trial: dict[int, shapely.Geometry]) -> float:
        """How much too far the pieces on these pads reach past what they would rest on, and backers past their pads."""
        faces = {id(f.face): f.face for n in trial for f in self.parties[n].feet if f.face is not None}
        return sum(self._too_far(face, trial) for face in faces.values())

    def _too_far(self, face: Face, trial: dict[int, shapely.Geometry]) -> float:
        stands = [(foot, foot.board.intersection(trial.get(n, self.pads[n]))) for n, foot in self._feet_of[id(face)]]
        hull = shapely.union_all([patch for _, patch in stands]).convex_hull
        past = sum(max(0.0, hull.distance(shapely.Point(at)) - most) for at, most in face.corners)
        for board in dict.fromkeys(foot.board for foot, _ in stands):
            patches = shapely.union_all([patch for foot, patch in stands if foot.board == board])
            ends = [shapely.Point(end).distance(patches) for end in _ends(board)]
            past += sum(max(0.0, far - self.rules.backer_past_pad) for far in ends)
        return float(past)


def _beyond(fault: float) -> float:
    """A fault that rounding does not explain."""
    return max(0.0, fault - NEAR)


def _ends(board: shapely.Polygon) -> list[tuple[float, float]]:
    """The middles of a board's ends: of its two shortest sides."""
    ring = board.exterior.coords
    sides = sorted(pairwise(ring), key=lambda side: math.dist(*side))[:2]
    return [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in sides]


def _lines(one: Party, other: Party, pads: Pair) -> Iterator[Pair]:
    """Cuts along x and y all through what both pads claim: each keeps what is on the side of its pin.

    Straight through both; and with a notch in one of them, that loses only what the other one claims.
    """
    a, b = pads
    shared = a.intersection(b)
    p, q = _nearest_pins(one, other)
    for axis in (0, 1):
        low, high = shared.bounds[axis], shared.bounds[axis + 2]
        a_low = p[axis] < q[axis]
        for n in range(BETWEEN + 1):
            at = low + (high - low) * n / BETWEEN
            kept = kept_side(a, axis, at, low_side=a_low), kept_side(b, axis, at, low_side=not a_low)
            yield kept
            yield kept[0], faces_of(b.difference(kept_side(shared, axis, at, low_side=a_low)))
            yield faces_of(a.difference(kept_side(shared, axis, at, low_side=not a_low))), kept[1]


def _nearest_pins(one: Party, other: Party) -> tuple[tuple[int, int], tuple[int, int]]:
    return min(((p, q) for p in one.pins for q in other.pins), key=lambda pins: math.dist(pins[0], pins[1]))


def _cuts(one: Party, other: Party, pads: Pair) -> Iterator[Pair]:
    """Straight cuts along x and y: one pad yields what both claim, on either side of it, or both half-way between pins.

    Where no pad can yield so, a notch of what both claim.
    """
    a, b = pads
    shared = a.intersection(b)
    for axis in (0, 1):
        low, high = shared.bounds[axis], shared.bounds[axis + 2]
        for at, low_side in ((low, True), (high, False)):
            yield a, kept_side(b, axis, at, low_side=low_side)
            yield kept_side(a, axis, at, low_side=low_side), b
    p, q = _nearest_pins(one, other)
    for axis in (0, 1):
        at, first_low = (p[axis] + q[axis]) / 2, p[axis] < q[axis]
        yield kept_side(a, axis, at, low_side=first_low), kept_side(b, axis, at, low_side=not first_low)
    yield a, faces_of(b.difference(shared))
    yield faces_of(a.difference(shared)), b


def kept_side(shape: shapely.Geometry, axis: int, at: float, *, low_side: bool) -> shapely.Geometry:
    """What lies on one side of a line square to an axis."""
    box = list(shape.bounds)
    box[axis + 2 if low_side else axis] = at
    return faces_of(shape.intersection(shapely.box(*box))) if box[axis] < box[axis + 2] else shapely.Polygon()


def margin(party: Party, pad: shapely.Geometry) -> float:
    """The least pad around a pin's centre; none where a pin stands beside it."""
    rim = pad.boundary
    return min(rim.distance(pin) if pad.covers(pin) else 0.0 for pin in map(shapely.Point, party.pins))


def _rests(party: Party, pad: shapely.Geometry) -> list[float]:
    """How long each foot's backer bears on the pad, the shorter of both ways."""
    found = []
    for foot in party.feet:
        patch = pad.intersection(foot.board)
        x0, y0, x1, y1 = patch.bounds if not patch.is_empty else (0, 0, 0, 0)
        found.append(min(x1 - x0, y1 - y0))
    return found


def square(pad: shapely.Geometry) -> bool:
    """Whether a pad is a rectangle along the axes."""
    return bool(pad.envelope.area - pad.area <= NEAR * pad.length)


def faces_of(shape: shapely.Geometry) -> shapely.Geometry:
    """A region without the lines and points where others only touched it."""
    return shape if shape.geom_type in ("Polygon", "MultiPolygon") else shapely.MultiPolygon(polygons(shape))
