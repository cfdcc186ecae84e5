"""What is left of each support's pad: nothing of it is seen, pads keep off one another, posts part them.

foot    a supported corner: a pin, the support's centre, the quarter that reaches under the wood, the backer above it
party   feet whose pins one support has
sill    the ground under wood and its joints, where a pad is not seen: never a gap, a post or open ground
meat    the pad that stays around a pin's centre
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from cutopt.errors import OurFault
from cutopt.geometry import NEAR, polygons
from cutopt.hang.records import SupportShape
from cutopt.rules import Rules
from cutopt.tile import Point, Tile

LIP = 1  # ticks: what rounding may take of the pins' play
LAPPED = 320 * 320  # square ticks: pads that overlap less than this only touch
SAWN = 5 * 320  # ticks: the saw takes at most this off a half: a kerf, and off the middle; common practice, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class Foot:
    """A supported corner in the layout frame: the support's centre, its pin, its quarter's way, the backer on it."""

    centre: Point
    pin: Point
    toward: Point
    turned: bool
    board: shapely.Polygon


@dataclass(frozen=True, kw_only=True, slots=True)
class Party:
    """Feet that share a support, its centre and half its pad along x and y, ticks."""

    centre: Point
    half: Point
    offset: int
    feet: tuple[Foot, ...]

    @property
    def pins(self) -> tuple[Point, ...]:
        """The pins that are used."""
        (x, y), off = self.centre, self.offset
        return tuple((x + foot.toward[0] * off, y + foot.toward[1] * off) for foot in self.feet)

    @property
    def pad(self) -> shapely.Polygon:
        """The pad as made."""
        (x, y), (w, h) = self.centre, self.half
        return shapely.box(x - w, y - h, x + w, y + h)

    @property
    def quarters(self) -> shapely.Geometry:
        """The quarters of the pad that have a foot."""
        return shapely.union_all([self._quarter(foot.toward) for foot in self.feet])

    @property
    def beside(self) -> bool:
        """Whether two feet are neighbours and not across the support from one another."""
        ways = [foot.toward for foot in self.feet]
        return len(ways) == 2 and (ways[0][0] == ways[1][0]) != (ways[0][1] == ways[1][1])

    def _quarter(self, way: Point) -> shapely.Polygon:
        (x, y), (w, h) = self.centre, self.half
        xs, ys = sorted((x, x + way[0] * w)), sorted((y, y + way[1] * h))
        return shapely.box(xs[0], ys[0], xs[1], ys[1])

    def sawn(self) -> shapely.Polygon:
        """What is at least left of the quarters when the saw takes its own along the cuts through the middle."""
        x0, y0, x1, y1 = self.quarters.bounds
        take = [min(SAWN, half // 10) for half in self.half]
        at = self.centre
        return shapely.box(
            x0 + take[0] * (x0 == at[0]),
            y0 + take[1] * (y0 == at[1]),
            x1 - take[0] * (x1 == at[0]),
            y1 - take[1] * (y1 == at[1]),
        )


def parties_of(feet: Sequence[Foot], tile: Tile) -> list[Party]:
    """Feet whose pins one support can hold: each in a quarter of its own, all centres within the pins' play."""
    play = (min(hole.diameter for hole in tile.pin_holes) - tile.support.pin) // 2 - LIP
    size = 2 * max(play, 1)
    squares: dict[Point, list[list[Foot]]] = {}
    groups: list[list[Foot]] = []
    for foot in sorted(feet, key=lambda f: (f.centre, f.toward)):
        col, row = foot.centre[0] // size, foot.centre[1] // size
        near = [g for dx in (-1, 0, 1) for dy in (-1, 0, 1) for g in squares.get((col + dx, row + dy), [])]
        for group in near:
            if all(other.toward != foot.toward for other in group) and _within([*group, foot], play):
                group.append(foot)
                break
        else:
            groups.append([foot])
            squares.setdefault((col, row), []).append(groups[-1])
    return [_party(group, tile) for group in groups]


def _middle(group: Sequence[Foot]) -> Point:
    xs, ys = [f.centre[0] for f in group], [f.centre[1] for f in group]
    return (min(xs) + max(xs)) // 2, (min(ys) + max(ys)) // 2


def _within(group: Sequence[Foot], play: int) -> bool:
    middle = _middle(group)
    return all(math.dist(middle, foot.centre) <= max(play, 0) for foot in group)


def _party(group: Sequence[Foot], tile: Tile) -> Party:
    along, across = tile.support.pad[0] // 2, tile.support.pad[1] // 2
    half = (across, along) if all(foot.turned for foot in group) else (along, across)
    return Party(centre=_middle(group), half=half, offset=tile.support.pin_offset, feet=tuple(group))


def pads_of(parties: Sequence[Party], sill: shapely.Geometry, tile: Tile, rules: Rules) -> list[shapely.Geometry]:
    """The pad of each party: the quarters that are used, under the sill, off the other pads.

    One that stands under wood all over stays whole: it only loses the pins that are not used.
    """
    meat = tile.support.pin // 2 + rules.pad_past_pin
    pads: list[shapely.Geometry] = [_under(party.quarters, sill) for party in parties]
    _part(parties, pads, meat, rules.bearing_least)
    tree = shapely.STRtree([party.pad for party in parties])
    for number, party in enumerate(parties):
        if len(party.feet) < 4 and (len(party.feet) == 1 or party.beside):
            continue
        near = [int(i) for i in tree.query(party.pad) if i != number]
        free = all(pads[i].intersection(party.pad).area <= LAPPED for i in near)
        if free and sill.covers(party.pad.buffer(-NEAR)):
            pads[number] = party.pad
    return pads


def _under(shape: shapely.Geometry, sill: shapely.Geometry) -> shapely.Geometry:
    return shape if sill.covers(shape) else _faces(shape.intersection(sill))


def _faces(shape: shapely.Geometry) -> shapely.Geometry:
    """A region without the lines and points where others only touched it."""
    return shape if shape.geom_type in ("Polygon", "MultiPolygon") else shapely.MultiPolygon(polygons(shape))


def _part(parties: Sequence[Party], pads: list[shapely.Geometry], meat: int, bearing: int) -> None:
    """Pads that would lie on one another are cut apart by one straight line."""
    tree = shapely.STRtree(pads)
    for i, pad in enumerate(list(pads)):
        for j in sorted(int(j) for j in tree.query(pad) if j > i):
            if pads[i].intersection(pads[j]).area > LAPPED:
                pads[i], pads[j] = _apart(parties[i], parties[j], (pads[i], pads[j]), meat, bearing)


Pair = tuple[shapely.Geometry, shapely.Geometry]


def _apart(one: Party, other: Party, pads: Pair, meat: int, bearing: int) -> Pair:
    """The best cut between two pads: no pin loses its meat, no backer its bearing, and few pads are cut.

    Best of all, the one with more pins stays as it is and the other yields.
    """

    def cost(pair: Pair) -> tuple[float, float, int, int, float]:
        both = list(zip((one, other), pair, strict=True))
        thin = sum(max(0.0, meat - _margin(party, pad)) for party, pad in both)
        bare = sum(max(0.0, bearing - rest) for party, pad in both for rest in _rests(party, pad))
        lost = [was.area - pad.area for was, pad in zip(pads, pair, strict=True)]
        spoiled = sum(len(party.feet) for party, gone in zip((one, other), lost, strict=True) if gone > LAPPED)
        crooked = sum(not _square(pad) for pad in pair)
        return max(0.0, thin - NEAR), max(0.0, bare - NEAR), crooked, spoiled, sum(lost)

    return min(_cuts(one, other, pads), key=cost)


def _cuts(one: Party, other: Party, pads: Pair) -> Iterator[Pair]:
    """Straight cuts along x and y: one pad yields what both claim, on either side of it, or both half-way between pins.

    Where no pad can yield so, a notch of what both claim.
    """
    a, b = pads
    shared = a.intersection(b)
    for axis in (0, 1):
        low, high = shared.bounds[axis], shared.bounds[axis + 2]
        for at, low_side in ((low, True), (high, False)):
            yield a, _kept(b, axis, at, low_side=low_side)
            yield _kept(a, axis, at, low_side=low_side), b
    p, q = min(((p, q) for p in one.pins for q in other.pins), key=lambda pins: math.dist(pins[0], pins[1]))
    for axis in (0, 1):
        at, first_low = (p[axis] + q[axis]) / 2, p[axis] < q[axis]
        yield _kept(a, axis, at, low_side=first_low), _kept(b, axis, at, low_side=not first_low)
    yield a, _faces(b.difference(shared))
    yield _faces(a.difference(shared)), b


def _kept(shape: shapely.Geometry, axis: int, at: float, *, low_side: bool) -> shapely.Geometry:
    """What lies on one side of a line square to an axis."""
    box = list(shape.bounds)
    box[axis + 2 if low_side else axis] = at
    return _faces(shape.intersection(shapely.box(*box))) if box[axis] < box[axis + 2] else shapely.Polygon()


def _margin(party: Party, pad: shapely.Geometry) -> float:
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


def cut_around(party: Party, pad: shapely.Geometry, posts: shapely.Geometry, meat: int) -> shapely.Geometry:
    """A pad whose middle a post takes, sawn straight beside the post on both sides: two halves.

    `posts` are grown by their gaps. Where pins are in the way of every such cut the pad is cut to fit around the post,
    unless that would make a hole of it.
    """
    centre = shapely.Point(party.centre)
    if not posts.covers(centre) or len(party.feet) < 2 or party.beside:
        return pad
    taken = [part for part in shapely.get_parts(party.pad.difference(pad)) if part.covers(centre)]
    if not taken:
        return pad
    x0, y0, x1, y1 = taken[0].bounds
    cuts = [
        _kept(pad, axis, low, low_side=True).union(_kept(pad, axis, high, low_side=False))
        for axis, low, high in ((0, x0, x1), (1, y0, y1))
    ]
    best = max(cuts, key=lambda cut: (min(_margin(party, cut), meat), cut.area))
    ringed = any(part.interiors for part in polygons(pad))
    return best if ringed or _margin(party, best) >= meat - NEAR else pad


def parts_of(party: Party, pad: shapely.Geometry, past: int) -> list[tuple[Party, shapely.Polygon]]:
    """The pieces of plastic that a pad falls into, each with the feet whose pins it has. Slivers are left out."""
    stout = pad
    if len(polygons(pad)) != 1 or not _square(pad):
        stout = pad.buffer(-past, join_style="mitre", mitre_limit=10).buffer(past, join_style="mitre", mitre_limit=10)
        stout = stout.intersection(pad)
    plates = [*polygons(stout), *polygons(pad)]  # a pin in a sliver keeps the sliver
    if not plates:
        x, y = (value / 320 for value in party.centre)
        raise OurFault(f"nothing is left of the pad of the support at ({x:.1f}, {y:.1f}) mm in the layout")
    feet: dict[int, list[Foot]] = {}
    for foot, pin in zip(party.feet, map(shapely.Point, party.pins), strict=True):
        plate = min(range(len(plates)), key=lambda n: (plates[n].distance(pin), n))
        feet.setdefault(plate, []).append(foot)
    return [
        (Party(centre=party.centre, half=party.half, offset=party.offset, feet=tuple(feet[n])), plates[n])
        for n in sorted(feet)
    ]


def _square(pad: shapely.Geometry) -> bool:
    """Whether a pad is a rectangle along the axes."""
    return bool(pad.envelope.area - pad.area <= NEAR * pad.length)


def shape_of(party: Party, pad: shapely.Polygon) -> SupportShape:
    """Whole as made, half or quarter but for what the saw takes along its cuts, else trimmed."""
    if pad.buffer(NEAR, join_style="mitre").covers(party.pad):
        return "whole"
    names: dict[int, SupportShape] = {1: "quarter", 2: "half"}
    plain = len(party.feet) == 1 or party.beside
    if plain and pad.buffer(NEAR, join_style="mitre").covers(party.sawn()):
        return names[len(party.feet)]
    return "trimmed"
