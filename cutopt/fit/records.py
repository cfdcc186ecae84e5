"""What the carpentry says of one piece at one place on a tile. All in the source's tile frame, ticks.

fragment    what a cut leaves of a slat
seat        a place where a backer hangs: kept where it was, or open for wood from elsewhere
drive       a screw in a fragment at a seat
stand       a seat's end that rests on a support, and where the pin goes
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import shapely

from cutopt.fit.sharing import Share
from cutopt.geometry import NEAR, Ring
from cutopt.tile import Backer, Point

Corners = tuple[tuple[float, float], ...]
SeatState = Literal["kept", "shaved", "cut", "open"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Refusal:
    """Why a piece cannot be made at a place: the rule, and that in words.

    `sure`: none of the ways considered does; where not, looking ended before all of them were tried.
    """

    rule: str
    why: str
    sure: bool = True


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """A rule that is broken, before it is said of the tile as it was given.

    `words` have places for what they tell of: the number of a `slat`, a length `size` and a place `at` along, ticks.
    """

    rule: str
    words: str
    slat: int = 0
    size: float = 0.0
    at: float = 0.0
    sure: bool = True


@dataclass(frozen=True, kw_only=True, slots=True)
class Fragment:
    """A fragment of a slat: its ring, and holes in it. `shared`: it was ripped anew together with its neighbour."""

    slat: int
    outline: Ring
    holes: tuple[Ring, ...] = ()
    shared: bool = False


@dataclass(frozen=True, kw_only=True)
class Seat:
    """A place for a backer: centre line at `u`, `width` along u, `span` across.

    `backer` is the tile's backer that stays here, None for an open seat. `reach` is the piece's own extent across at
    this seat, edge to edge, which holes are measured from. A seat along an oblique cut leans: from the low end of its
    span to the high one its centre line moves by `lean` along u, an even number of ticks; `u` is then at its middle,
    and `width` is square to the line.
    """

    u: int
    width: int
    span: tuple[int, int]
    reach: tuple[int, int]
    state: SeatState
    backer: int | None
    lean: int = 0

    def u_at(self, v: float) -> float:
        """Where the centre line, drawn on past its ends, crosses `v`."""
        if not self.lean:
            return self.u
        return self.u + self.lean * ((v - self.span[0]) / (self.span[1] - self.span[0]) - 0.5)

    @property
    def slant(self) -> float:
        """How much further apart along u than square to its line things on the backer are: 1 for a straight one."""
        return self.length / (self.span[1] - self.span[0]) if self.lean else 1.0

    def along(self, point: Point) -> float:
        """How far along the line, from its end at the low side, a point lies."""
        if not self.lean:
            return point[1] - self.span[0]
        (u0, v0), (u1, v1) = self.line
        return ((point[0] - u0) * (u1 - u0) + (point[1] - v0) * (v1 - v0)) / math.hypot(u1 - u0, v1 - v0)

    def at(self, along: float) -> Point:
        """The point of the centre line `along` ticks from its end at the low side."""
        (u0, v0), (u1, v1) = self.line
        share = along / math.hypot(u1 - u0, v1 - v0)
        return round(u0 + (u1 - u0) * share), round(v0 + (v1 - v0) * share)

    def carried(self, hole: Point, wood: Backer, start: int | None = None) -> Point:
        """Where a hole of a backer's wood lies when it hangs here, as far off the centre line as it was.

        The wood's place `start` (v on its own tile) comes to the seat's low end; without it a straight backer hangs as
        far across as it was, and a leaning one begins with the wood's end.
        """
        if start is None:
            start = wood.v[0] if self.lean else self.span[0]
        u, v = self.at(hole[1] - start)
        return u + round((hole[0] - wood.u) * self.slant), v

    @cached_property
    def board(self) -> shapely.Polygon:
        """The backer as it lies, its ends square to its line."""
        return shapely.Polygon(self.corners)

    @cached_property
    def line(self) -> tuple[Point, Point]:
        """The centre line, from the low end of the span to the high one."""
        half = self.lean // 2
        return (self.u - half, self.span[0]), (self.u + half, self.span[1])

    @cached_property
    def length(self) -> int:
        """Wood needed, ticks."""
        across = self.span[1] - self.span[0]
        return math.ceil(math.hypot(across, self.lean)) if self.lean else across

    @cached_property
    def _axes(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Unit vectors along the line and square to it."""
        (u0, v0), (u1, v1) = self.line
        size = math.hypot(u1 - u0, v1 - v0)
        along = ((u1 - u0) / size, (v1 - v0) / size)
        return along, (along[1], -along[0])

    @cached_property
    def corners(self) -> Corners:
        """The board's four corners as it lies."""
        (u0, v0), (u1, v1) = self.line
        du, dv = (self.width / 2, 0.0) if not self.lean else (x * self.width / 2 for x in self._axes[1])
        return (u0 - du, v0 - dv), (u0 + du, v0 + dv), (u1 + du, v1 + dv), (u1 - du, v1 - dv)

    def overlaps(self, other: Seat) -> bool:
        """Whether two backers would lie on one another."""
        if self.lean or other.lean:
            return all(_meet(self.corners, other.corners, *axis) for axis in (*self._axes, *other._axes))
        apart = abs(self.u - other.u) >= (self.width + other.width) // 2
        return not apart and self.span[0] < other.span[1] and other.span[0] < self.span[1]


def _meet(one: Corners, other: Corners, du: float, dv: float) -> bool:
    """Whether two boards, seen along a direction, lie on one another there (two convex shapes are apart in one)."""
    mine, theirs = ([u * du + v * dv for u, v in corners] for corners in (one, other))
    return max(mine) - min(theirs) > NEAR and max(theirs) - min(mine) > NEAR


@dataclass(frozen=True, kw_only=True, slots=True)
class Drive:
    """A screw in fragment number `fragment`; `screw` is the tile's own that stays, None for a new one."""

    fragment: int
    at: Point
    screw: str | None
    predrilled: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Stand:
    """A supported end of seat number `seat`: the pin at `hole`, the support's quarter reaching `toward` from it.

    `toward` points from the support's centre into the piece, each part 1 or -1.
    """

    seat: int
    hole: Point
    toward: tuple[int, int]
    state: Literal["kept", "moved", "drilled"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Fit:
    """A piece that can be hung: fragments, seats with their drives (one tuple a seat), stands, and the work.

    `minutes` are for the bench and drill. `least`: no way of hanging it takes less work, among those looked at.
    """

    fragments: tuple[Fragment, ...]
    seats: tuple[Seat, ...]
    drives: tuple[tuple[Drive, ...], ...]
    stands: tuple[Stand, ...]
    minutes: float
    share: Share | None = None
    least: bool = True

    @property
    def needs(self) -> tuple[int, ...]:
        """Lengths of wood for the open seats, longest first."""
        return tuple(sorted((seat.length for seat in self.seats if seat.state == "open"), reverse=True))

    @property
    def kept(self) -> dict[int, tuple[tuple[int, int], ...]]:
        """The stretches of the tile's backers that stay in this piece, by backer."""
        found: dict[int, tuple[tuple[int, int], ...]] = {}
        for seat in self.seats:
            if seat.backer is not None:
                found[seat.backer] = (*found.get(seat.backer, ()), seat.span)
        return found
