"""Tiles and pieces to try the carpentry on: invented ones, drawn at random or named.

Whoever draws hands over a `Pick`: a function that picks a whole number between two, both included. It may be a random
number generator's, with a seed, or a property test's.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

import shapely

from cutopt.geometry import Ring, polygon, ring_of
from cutopt.job.records import Job
from cutopt.lay.records import Notch, Shape
from cutopt.tile import Point, Screw, Tile
from tests.jobs import job_of

Pick = Callable[[int, int], int]
Corners = list[tuple[float, float]]

MM = 320  # ticks
YARD = '[[area]]\nname = "Yard"\ncorners = [[0, 0], [2000, 0], [2000, 2000], [0, 2000]]\n'


@dataclass(frozen=True, kw_only=True, slots=True)
class Anatomy:
    """A tile in millimetres, as a job file has it. `backers` are centre lines along the slats."""

    length: int
    width: int
    slats: int
    slat: float
    backers: tuple[float, ...]
    a_crossing: int = 2
    inset: float = 20  # of the screws, from the slat's edge
    hole: tuple[float, float] = (40, 40)  # inset of the pin holes, along and across
    board: float = 60

    @property
    def text(self) -> str:
        """The [tile] table of a job file."""
        at = ", ".join(f'"{u} mm"' for u in self.backers)
        screws = f'inset = "{self.inset} mm", ' if self.a_crossing == 2 else ""
        offset = max(self.hole) + 2
        pad = max(140, math.ceil(2 * (offset + 5 + 10)))  # 10 mm beyond a pin of 10
        return (
            f'[tile]\nname = "drawn"\nlength = "{self.length} mm"\nwidth = "{self.width} mm"\ndensity = 680\n'
            f'slats = {{count = {self.slats}, width = "{self.slat} mm", thickness = "20 mm"}}\n'
            f'backers = {{at = [{at}], width = "{self.board} mm", thickness = "18 mm", inset = "6 mm"}}\n'
            f"screws = {{{screws}a_crossing = {self.a_crossing}, gauge = 8}}\n"
            f'pin_holes = {{diameter = "12 mm", inset = ["{self.hole[0]} mm", "{self.hole[1]} mm"]}}\n'
            f'support = {{pad = ["{pad} mm", "{pad} mm"], pin_offset = "{offset} mm", pin = "10 mm", '
            f'height = "15 mm"}}\n'
        )

    @property
    def joint(self) -> tuple[float, float]:
        """What the support's pins set, along and across."""
        offset = max(self.hole) + 2
        return 2 * (offset - self.hole[0]), 2 * (offset - self.hole[1])

    def job(self, rest: str = YARD) -> Job:
        """A job of this tile; `rest` is the text of its file below [tile]."""
        return job_of(self.text + rest)

    @property
    def tile(self) -> Tile:
        """The tile as the job's reader makes it."""
        return self.job().tile


# the tile of the worked pieces, and others that sites have: rectangular, two to four backers, one screw a crossing,
# backers that a half turn would show
WORKED = Anatomy(length=600, width=600, slats=7, slat=80, backers=(40, 300, 560))
# the slats' only screws are at v = 40, so its holes lie 10 mm off both: 14.1 mm from the screw, 14 mm of wood
LONE_SCREW = Anatomy(length=600, width=600, slats=7, slat=80, backers=(40, 300, 560), a_crossing=1, hole=(50, 50))
NAMED = {
    "seven slats": WORKED,
    "one screw a crossing": LONE_SCREW,
    "two backers": Anatomy(length=300, width=300, slats=4, slat=72, backers=(40, 260)),
    "four backers": Anatomy(length=600, width=450, slats=5, slat=84, backers=(40, 215, 385, 560)),
    "asymmetric": Anatomy(length=600, width=600, slats=7, slat=80, backers=(40, 270, 560)),
    "rectangular": Anatomy(length=900, width=300, slats=3, slat=95, backers=(40, 320, 580, 860)),
}


def drawn_tile(pick: Pick) -> Anatomy:
    """Two to four backers, one or two screws a crossing, four to nine slats, square or not, asymmetric or not."""
    backers = pick(2, 4)
    least, most = {2: (22, 40), 3: (30, 64), 4: (40, 90)}[backers]
    length = 10 * pick(least, most)
    slats, slat, gap = pick(4, 9), pick(60, 95), pick(4, 8)
    a_crossing = pick(1, 2)
    # a hole keeps 12 mm from a screw's centre: halfway between the two screws of the first slat, or beyond its only one
    first = slat // 2 if a_crossing == 2 else slat // 2 + 13
    off = pick(0, 1) * pick(-20, 20)
    middle = [first + (length - 2 * first) * i // (backers - 1) + off for i in range(1, backers - 1)]
    return Anatomy(
        length=length,
        width=slats * slat + (slats - 1) * gap,
        slats=slats,
        slat=slat,
        backers=(first, *middle, length - first),
        a_crossing=a_crossing,
        inset=20 if slat >= 72 else 17,
        hole=(first, first),
    )


def ring(corners: Corners) -> Ring:
    """A ring in ticks, anticlockwise, from its lowest corner, as laying gives it."""
    return ring_of(polygon([(round(u * MM), round(v * MM)) for u, v in corners]))


def across(tile: Anatomy, to: float) -> Ring:
    """Crosscut: u from 0 to `to`."""
    return ring([(0, 0), (to, 0), (to, tile.width), (0, tile.width)])


def ripped(tile: Anatomy, to: float) -> Ring:
    """Ripped: v from 0 to `to`."""
    return ring([(0, 0), (tile.length, 0), (tile.length, to), (0, to)])


def corner_piece(to: float, up: float) -> Ring:
    """Crosscut and ripped."""
    return ring([(0, 0), (to, 0), (to, up), (0, up)])


def corner_notch(tile: Anatomy, along: float, up: float) -> Ring:
    """The whole tile less its home corner."""
    return ring([(along, 0), (tile.length, 0), (tile.length, tile.width), (0, tile.width), (0, up), (along, up)])


def edge_notch(tile: Anatomy, at: tuple[float, float], deep: float) -> Ring:
    """The whole tile less a notch in the side v = 0, from at[0] to at[1] along."""
    (a, b), (u, v) = at, (tile.length, tile.width)
    return ring([(0, 0), (a, 0), (a, deep), (b, deep), (b, 0), (u, 0), (u, v), (0, v)])


def end_notch(tile: Anatomy, at: tuple[float, float], deep: float) -> Ring:
    """The whole tile less a notch in the end u = 0, from at[0] to at[1] across: a U, two legs round a post."""
    (a, b), (u, v) = at, (tile.length, tile.width)
    return ring([(0, 0), (u, 0), (u, v), (0, v), (0, b), (deep, b), (deep, a), (0, a)])


def taper(tile: Anatomy, low: float, high: float) -> Ring:
    """An oblique cut across the slats: from u = `low` at v = 0 to `high` at the far side."""
    return ring([(0, 0), (low, 0), (high, tile.width), (0, tile.width)])


def slant(tile: Anatomy, low: float, high: float) -> Ring:
    """An oblique cut along the slats: from v = `low` at u = 0 to `high` at the far end."""
    return ring([(0, 0), (tile.length, 0), (tile.length, high), (0, low)])


def cut_corner(tile: Anatomy, along: float, up: float) -> Ring:
    """The whole tile less the triangle that an oblique wall takes off its far corner."""
    u, v = tile.length, tile.width
    return ring([(0, 0), (u, 0), (u, v - up), (u - along, v), (0, v)])


def triangle(along: float, up: float) -> Ring:
    """What an oblique wall leaves in a corner."""
    return ring([(0, 0), (along, 0), (0, up)])


def notched_taper(tile: Anatomy, low: float, high: float, notch: tuple[float, float]) -> Ring:
    """A taper less its home corner."""
    along, up = notch
    return ring([(along, 0), (low, 0), (high, tile.width), (0, tile.width), (0, up), (along, up)])


KINDS = (
    "crosscut", "rip", "corner piece", "corner notch", "edge notch", "end notch", "taper", "slant", "cut corner",
    "triangle", "notched taper",
)  # fmt: skip


def drawn_piece(pick: Pick, tile: Anatomy, kind: str) -> Ring:
    """A piece of the kind, of whole millimetres, somewhere on the tile: as it is, mirrored or half-turned."""
    length, width = tile.length, tile.width
    along, up = pick(90, length - 1), pick(75, width - 1)
    small = pick(40, min(160, length // 3)), pick(40, min(160, width // 3))
    far = max(100, along - pick(1, 200))
    if kind == "crosscut":
        found = across(tile, along)
    elif kind == "rip":
        found = ripped(tile, up)
    elif kind == "corner piece":
        found = corner_piece(along, up)
    elif kind == "corner notch":
        found = corner_notch(tile, *small)
    elif kind == "edge notch":
        start = pick(20, length - small[0] - 20)
        found = edge_notch(tile, (start, start + small[0]), small[1])
    elif kind == "end notch":
        start = pick(20, width - small[1] - 20)
        found = end_notch(tile, (start, start + small[1]), small[0])
    elif kind == "taper":
        found = taper(tile, along, far)
    elif kind == "slant":
        found = slant(tile, up, max(75, up - pick(1, 150)))
    elif kind == "cut corner":
        found = cut_corner(tile, pick(60, length - 60), pick(60, width - 60))
    elif kind == "triangle":
        found = triangle(max(along, 150), max(up, 150))
    else:
        long = max(along, small[0] + 120)
        found = notched_taper(tile, long, max(small[0] + 110, long - pick(1, 150)), small)
    return placed(found, tile, pick(0, 3))


def placed(outline: Ring, tile: Anatomy, way: int) -> Ring:
    """As it is (0), mirrored along (1), across (2), or half-turned (3): what lies in other corners of the tile."""
    length, width = tile.length * MM, tile.width * MM
    moved = [((length - u) if way in (1, 3) else u, (width - v) if way in (2, 3) else v) for u, v in outline]
    return ring([(u / MM, v / MM) for u, v in moved])


def shape_of(outline: Ring, tile: Anatomy) -> Shape:
    """The ring with its cuts, as laying gives it: a chord for each sawn side, a notch for each re-entrant stretch."""
    size = (tile.length * MM, tile.width * MM)
    edges = list(zip(outline, (*outline[1:], *outline[:1]), strict=True))
    sawn = [not any(a[axis] == b[axis] in (0, size[axis]) for axis in (0, 1)) for a, b in edges]
    chords, notches = [], []
    for i, edge in enumerate(edges):
        if not sawn[i] or (sawn[i - 1] and _turns_right(edges[i - 1], edge)):
            continue  # on the rim, or within a notch that begins before it
        path = list(edge)
        at = (i + 1) % len(edges)
        while sawn[at] and _turns_right(edges[at - 1], edges[at]):
            path.append(edges[at][1])
            at = (at + 1) % len(edges)
        if len(path) > 2:
            notches.append(Notch(path=tuple(path)))
        else:
            chords.append(_drawn_out(edge, size))
    return Shape(outline=outline, chords=tuple(chords), notches=tuple(notches))


def _turns_right(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    (u0, v0), (u1, v1), (u2, v2) = one[0], one[1], other[1]
    return (u1 - u0) * (v2 - v1) - (v1 - v0) * (u2 - u1) < 0


def _drawn_out(edge: tuple[Point, Point], size: Point) -> tuple[Point, Point]:
    """The edge's line from side to side of the tile, in its direction."""
    (u0, v0), (u1, v1) = edge
    du, dv = u1 - u0, v1 - v0
    far = 4 * max(size) / max(abs(du), abs(dv))
    line = shapely.LineString([(u0 - du * far, v0 - dv * far), (u0 + du * far, v0 + dv * far)])
    a, b = (tuple(map(round, p)) for p in line.intersection(shapely.box(0, 0, *size)).coords)
    ahead = (b[0] - a[0]) * du + (b[1] - a[1]) * dv > 0
    return (a, b) if ahead else (b, a)


def mirrored(tile: Tile, *, along: bool, across: bool) -> Tile:
    """The tile seen in a mirror across one axis, or half-turned; its parts numbered anew from the home corner."""
    length, width = tile.length, tile.width

    def seen(at: Point) -> Point:
        return (length - at[0] if along else at[0], width - at[1] if across else at[1])

    def span(v: tuple[int, int]) -> tuple[int, int]:
        return (width - v[1], width - v[0]) if across else v

    slats = sorted(tile.slats, key=lambda s: span(s.v))
    backers = sorted(tile.backers, key=lambda b: seen((b.u, 0)))
    slat_ids = {slat.id: n for n, slat in enumerate(slats, 1)}
    backer_ids = {backer.id: n for n, backer in enumerate(backers, 1)}
    screws = sorted(tile.screws, key=lambda s: (slat_ids[s.slat], backer_ids[s.backer], seen(s.at)[1]))
    letters = Counter[tuple[int, int]]()
    named = []
    for screw in screws:
        at = slat_ids[screw.slat], backer_ids[screw.backer]
        name = f"{at[0]}.{at[1]}{'abc'[letters[at]]}"
        letters[at] += 1
        named.append(Screw(id=name, slat=at[0], backer=at[1], at=seen(screw.at)))
    holes = sorted(tile.pin_holes, key=lambda h: (backer_ids[h.backer], seen(h.at)[1]))
    return replace(
        tile,
        slats=tuple(replace(s, id=slat_ids[s.id], v=span(s.v)) for s in slats),
        backers=tuple(replace(b, id=backer_ids[b.id], u=seen((b.u, 0))[0], v=span(b.v)) for b in backers),
        screws=tuple(named),
        pin_holes=tuple(replace(h, id=n, backer=backer_ids[h.backer], at=seen(h.at)) for n, h in enumerate(holes, 1)),
    )
